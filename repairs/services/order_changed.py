"""Says that what was ordered of a repair has changed."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from duework.services import announce

ORDER_CHANGED = "order-changed"
"""Announced when an order's window or promise is entered or corrected; dispatch follows it."""


@transaction.atomic
def order_changed(*, repair_id: UUID, now: datetime) -> None:
    """Tell whoever follows the topic."""
    announce(
        topic=ORDER_CHANGED,
        subject_type="repair",
        subject_id=repair_id,
        dedupe_key=f"{ORDER_CHANGED}:{uuid4()}",
        now=now,
    )
