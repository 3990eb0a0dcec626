"""Assignments whose time is over while nobody reported being there."""

from datetime import datetime

from django.db.models import F, QuerySet

from dispatch.models import Assignment
from dispatch.selectors import visible_repairs
from repairs.domain.progress import NOT_BEGUN
from repairs.models import Account


def over_and_not_begun(account: Account, *, now: datetime) -> QuerySet[Assignment]:
    """Return them for the attempt under way, the longest over first."""
    return (
        Assignment.objects.select_related("crew", "repair__run__site")
        .filter(
            repair__in=visible_repairs(account).values("pk"),
            repair__stage__in=[stage.value for stage in NOT_BEGUN],
            attempt=F("repair__attempt"),
            cancelled_at__isnull=True,
            ends_at__lt=now,
        )
        .order_by("ends_at", "pk")
    )
