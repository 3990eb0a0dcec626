"""Says that what a crew has on its truck, or may do, has changed."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from duework.services import announce

TRUCK_CHANGED = "truck-changed"
"""Announced when kits, gear or certificates of a crew change."""


@transaction.atomic
def truck_changed(*, crew_id: UUID, now: datetime) -> None:
    """Have the reminders of a crew's truck and people brought in line."""
    announce(
        topic=TRUCK_CHANGED,
        subject_type="crew",
        subject_id=crew_id,
        dedupe_key=f"{TRUCK_CHANGED}:{uuid4()}",
        now=now,
    )
