"""Legal holds: set and lifted, by name and reason."""

from datetime import datetime

from django.db import transaction

from qa.models import LegalHold
from repairs.domain.problem import Refused
from repairs.models import Account, WorkOrder


@transaction.atomic
def set_hold(*, work_order: WorkOrder, reason: str, by: Account, now: datetime) -> LegalHold:
    """Hold everything of an order, whatever its time of keeping."""
    return LegalHold.objects.create(work_order=work_order, reason=reason, set_by=by, set_at=now)


@transaction.atomic
def lift_hold(*, hold: LegalHold, reason: str, by: Account, now: datetime) -> LegalHold:
    """Lift a hold; it stays on record."""
    row = LegalHold.objects.select_for_update().get(pk=hold.pk)
    if row.lifted_at is not None:
        raise Refused("already_answered", "This hold was lifted already.")
    row.lifted_at, row.lifted_by, row.lifted_reason = now, by, reason
    row.save(update_fields=["lifted_at", "lifted_by", "lifted_reason"])
    return row
