"""Writes down what the clocks say, and tells those who remind."""

from datetime import datetime

from django.db import transaction

from duework.services import announce
from repairs.models import ClockReading, Repair
from repairs.selectors import clocks_at

CLOCKS_RECOMPUTED = "clocks-recomputed"
"""Announced after the clocks were written down; dispatch follows it with reminders."""


@transaction.atomic
def recompute_clocks(*, repair: Repair, cause: str, now: datetime) -> ClockReading | None:
    """Compute both clocks from the events and keep the answer for boards and lists."""
    clocks = clocks_at(repair, now=now)
    if clocks is None:
        return None
    reading, _ = ClockReading.objects.update_or_create(
        repair=repair,
        defaults={
            "attempt": repair.attempt,
            "working_status": clocks.working.status.value,
            "working_deadline": clocks.working.deadline_early,
            "cure_status": clocks.cure.status.value,
            "cure_best": clocks.cure.best,
            "hold_until": clocks.cure.hold_until,
            "computed_at": now,
        },
    )
    announce(
        topic=CLOCKS_RECOMPUTED,
        subject_type="repair",
        subject_id=repair.pk,
        dedupe_key=f"{CLOCKS_RECOMPUTED}:{cause}",
        now=now,
    )
    return reading
