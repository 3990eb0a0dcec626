"""Takes a file a crew hands in: sealed first, then recorded, then read by due work."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath

from django.db import IntegrityError, transaction

from duework.services import schedule
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Evidence
from qa.sealed_files import Sealed
from qa.services.recheck_files import begin_rechecks
from qa.services.write_history import begin_history
from repairs.domain.limits import limits_from
from repairs.models import Account, Repair
from repairs.selectors import attempt_at
from repairs.services.record_event import DeviceClock

READ_EVIDENCE = "read-evidence"
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class Declared:
    """What the sender says of the file."""

    kind: EvidenceKind
    file_name: str
    media_type: str
    title: str
    device: str
    captured_at: datetime | None
    attempt: int | None


@transaction.atomic
def take_evidence(
    *,
    repair: Repair,
    sealed: Sealed,
    declared: Declared,
    clock: DeviceClock | None,
    by: Account,
    now: datetime,
) -> tuple[Evidence, bool]:
    """Record a sealed file; the same bytes for the same purpose again are a no-op."""
    attempt = declared.attempt or attempt_at(repair, declared.captured_at or now)
    key = {
        "repair": repair,
        "attempt": attempt,
        "kind": declared.kind,
        "sha256": sealed.sha256,
        # A file that was taken back may be handed in again.
        "taken_back_at": None,
    }
    known = Evidence.objects.filter(**key).first()
    if known is not None:
        return known, False
    low, high = _offset(repair, clock)
    try:
        with transaction.atomic():
            row = Evidence.objects.create(
                **key,
                title=declared.title,
                file_name=_plain_name(declared.file_name),
                media_type=declared.media_type[:100],
                size_bytes=sealed.size_bytes,
                device=declared.device,
                captured_at=declared.captured_at,
                offset_low_s=low,
                offset_high_s=high,
                posted_by=by,
                received_at=now,
            )
    except IntegrityError:
        return Evidence.objects.get(**key), False
    schedule(
        kind=READ_EVIDENCE,
        subject_type="evidence",
        subject_id=row.pk,
        dedupe_key=f"{READ_EVIDENCE}:{row.pk}",
        due_at=now,
    )
    begin_rechecks(now=now)
    begin_history(now=now)
    return row, True


def _offset(repair: Repair, clock: DeviceClock | None) -> tuple[float, float]:
    if clock is not None:
        return clock.offset_low_s, clock.offset_high_s
    uncertainty = limits_from(repair.work_order.requirement_set.limits).clock_uncertainty_s
    return -uncertainty, uncertainty


def _plain_name(name: str) -> str:
    """Keep the last part of a name only: no folder of the sender's gets in."""
    last = PurePath(name.replace("\\", "/")).name
    kept = "".join(c for c in last if c.isprintable())
    return kept[-_LONGEST_NAME:] or "file"
