"""What was not as required of a closed attempt: known when it closed, or found since."""

from django.db.models import QuerySet

from qa.models import Closing, Nonconformance
from repairs.selectors import standing_steps_of


def nonconformances_of(closing: Closing) -> QuerySet[Nonconformance]:
    """Return what was not as required in all that a closing stands on, as known when it closed."""
    since = standing_steps_of(closing.repair, attempt=closing.attempt).since
    return Nonconformance.objects.select_related("decided_by").filter(
        repair=closing.repair,
        attempt__gte=since,
        attempt__lte=closing.attempt,
        withdrawn_at__isnull=True,
        opened_at__lte=closing.closed_at,
    )


def found_since(closing: Closing) -> QuerySet[Nonconformance]:
    """Return what was found of a closed attempt afterwards: its package is silent on it."""
    return Nonconformance.objects.filter(
        repair=closing.repair,
        attempt=closing.attempt,
        withdrawn_at__isnull=True,
        opened_at__gt=closing.closed_at,
    )
