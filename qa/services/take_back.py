"""Takes a file back that was handed in by mistake: it stays on record, and proves nothing."""

from datetime import datetime

from django.db import transaction

from duework.services import announce
from qa.models import Closing, Evidence
from qa.services.read_evidence import EVIDENCE_READ
from repairs.domain.problem import Refused
from repairs.models import Account, Repair


@transaction.atomic
def take_back(*, evidence: Evidence, reason: str, by: Account, now: datetime) -> Evidence:
    """Take a file back while its attempt is not closed; twice is a no-op.

    The row stays with who took it back and why; the hold points are looked at again.
    """
    # The repair first, as closing does: a file is never taken back while its attempt closes.
    repair = Repair.objects.select_for_update().get(pk=evidence.repair_id)
    row = Evidence.objects.select_for_update().get(pk=evidence.pk)
    # Closed with it is what was there then; a later file is nobody's proof yet.
    closings = Closing.objects.filter(
        repair=repair, attempt__gte=row.attempt, closed_at__gte=row.received_at
    )
    if closings.exists():
        raise Refused(
            "already_closed",
            f"{repair.ref}, attempt {row.attempt}, is closed; what it was closed with stays.",
        )
    if row.taken_back_at is not None:
        return row
    row.taken_back_at, row.taken_back_by, row.taken_back_reason = now, by, reason
    row.save(update_fields=["taken_back_at", "taken_back_by", "taken_back_reason"])
    announce(
        topic=EVIDENCE_READ,
        subject_type="repair",
        subject_id=repair.pk,
        dedupe_key=f"{EVIDENCE_READ}:{row.pk}:taken-back",
        payload={"attempt": row.attempt},
        now=now,
    )
    return row
