"""Frees the crew of an attempt that is over: nobody goes out to what has ended."""

from datetime import datetime

from django.db import transaction

from dispatch.models import Assignment
from dispatch.services.assign import cancel_assignment
from repairs.models import Account, Repair

CLOSED_BEFORE = "the attempt was closed before it began"
ANOTHER_ATTEMPT = "another attempt followed before it began"


@transaction.atomic
def end_assignments(*, repair: Repair, attempt: int, why: str, by: Account, now: datetime) -> None:
    """Take back what has not begun, and free the crew from now on where it has."""
    rows = Assignment.objects.filter(repair=repair, attempt=attempt, cancelled_at__isnull=True)
    for row in rows.filter(starts_at__gt=now):
        cancel_assignment(assignment=row, reason=why, by=by, now=now)
    rows.filter(starts_at__lte=now, ends_at__gt=now, freed_at__isnull=True).update(freed_at=now)
