"""Takes a file in pieces, over a bad line and over days, and makes evidence of it once."""

from contextlib import suppress
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Sum

from duework.services import schedule
from qa.domain.evidence_kind import EvidenceKind
from qa.models import Upload
from qa.sealed_files import seal_file, sha256_of
from qa.services.take_evidence import Declared, take_evidence
from qa.upload_parts import PartGoneError, begin, held_bytes, path_of_part, remove
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account, Repair
from repairs.services.record_event import DeviceClock

SETTLE_UPLOAD = "settle-upload"
LOOK_AGAIN = timedelta(hours=1)
"""How often an upload is looked at that nobody goes on with. Common practice, no source."""
MOST_OPEN = 200
"""Uploads one account may have under way. Common practice, no source."""


@transaction.atomic
def begin_upload(
    *,
    repair: Repair,
    declared: Declared,
    sha256: str | None,
    length_bytes: int,
    clock: DeviceClock | None,
    by: Account,
    now: datetime,
) -> Upload:
    """Open an upload within the account's quota; its first piece may follow at once.

    Raises
    ------
    Refused
        ``too_large`` for the file, ``quota_full`` for the account.
    """
    _refuse_too_much(length_bytes, by)
    told = asdict(declared)
    told["captured_at"] = declared.captured_at and declared.captured_at.isoformat()
    row = Upload.objects.create(
        repair=repair,
        declared={**told, "sha256": sha256},
        length_bytes=length_bytes,
        offset_low_s=None if clock is None else clock.offset_low_s,
        offset_high_s=None if clock is None else clock.offset_high_s,
        created_by=by,
        created_at=now,
        expires_at=_expiry(now),
    )
    begin(row.pk)
    schedule(
        kind=SETTLE_UPLOAD,
        subject_type="upload",
        subject_id=row.pk,
        dedupe_key=f"{SETTLE_UPLOAD}:{row.pk}",
        due_at=now + LOOK_AGAIN,
    )
    return row


def _refuse_too_much(length_bytes: int, by: Account) -> None:
    most, quota = settings.UPLOAD_MAX_BYTES, settings.UPLOAD_QUOTA_BYTES
    if length_bytes > most:
        raise Refused("too_large", f"Upload-Length: at most {most} bytes a file.", status=413)
    mine = Upload.objects.filter(created_by=by, state=Upload.State.OPEN)
    under_way = mine.aggregate(whole=Sum("length_bytes"))["whole"] or 0
    if under_way + length_bytes > quota or mine.count() >= MOST_OPEN:
        raise Refused(
            "quota_full",
            f"{mine.count()} files with {under_way} bytes are under way; at most {MOST_OPEN} with "
            f"{quota} bytes may be. Finish or end one first.",
            status=413,
        )


def came_on(*, upload: Upload, now: datetime) -> datetime:
    """Give an upload that goes on its full time again, and return until when."""
    upload.expires_at = _expiry(now)
    Upload.objects.filter(pk=upload.pk).update(expires_at=upload.expires_at)
    return upload.expires_at


def finish_upload(*, upload: Upload, now: datetime) -> Upload:
    """Seal a file that has come whole and record it as evidence; again it is a no-op.

    The hash is taken outside the transaction: it may take seconds. A crash at any instant
    leaves the part where it is, so finishing is tried again.

    Raises
    ------
    Refused
        ``malformed`` when the bytes are not what was declared; the upload is over then.
    """
    if upload.state != Upload.State.OPEN:
        return upload
    part = path_of_part(upload.pk)
    found, declared = sha256_of(part), upload.declared["sha256"]
    if declared is not None and found != declared:
        _end(upload, Upload.State.REFUSED, f"the file's SHA-256 is {found}, declared: {declared}")
        raise malformed(Fault("sha256", found, f"{declared}, as declared; send the file again"))
    sealed = seal_file(part, found)
    with transaction.atomic():
        evidence, _ = take_evidence(
            repair=upload.repair,
            sealed=sealed,
            declared=_declared(upload.declared),
            clock=_clock(upload),
            by=upload.created_by,
            now=now,
        )
        upload.state, upload.evidence = Upload.State.DONE, evidence
        upload.save(update_fields=["state", "evidence"])
    remove(upload.pk)
    return upload


def end_upload(*, upload: Upload) -> None:
    """End an upload at its sender's wish; what came of it is gone."""
    _end(upload, Upload.State.ENDED, "")


def settle_upload(*, upload: Upload, now: datetime) -> datetime | None:
    """Finish what came whole, drop what nobody went on with; return when to look again."""
    if upload.state != Upload.State.OPEN:
        remove(upload.pk)
        return None
    try:
        held = held_bytes(upload.pk)
    except PartGoneError:
        _end(upload, Upload.State.EXPIRED, "its bytes are gone")
        return None
    if held == upload.length_bytes:
        with suppress(Refused):  # told on the upload itself
            finish_upload(upload=upload, now=now)
        return None
    if upload.expires_at <= now:
        _end(upload, Upload.State.EXPIRED, f"{held} of {upload.length_bytes} bytes came in time")
        return None
    return min(upload.expires_at, now + LOOK_AGAIN)


def _end(upload: Upload, state: str, problem: str) -> None:
    upload.state, upload.problem = state, problem[:300]
    upload.save(update_fields=["state", "problem"])
    remove(upload.pk)


def _expiry(now: datetime) -> datetime:
    return (now + timedelta(hours=settings.UPLOAD_KEPT_H)).replace(microsecond=0)


def _declared(told: dict[str, Any]) -> Declared:
    captured = told["captured_at"]
    return Declared(
        kind=EvidenceKind(told["kind"]),
        file_name=told["file_name"],
        media_type=told["media_type"],
        title=told["title"],
        device=told["device"],
        captured_at=datetime.fromisoformat(captured) if captured else None,
        attempt=told["attempt"],
    )


def _clock(upload: Upload) -> DeviceClock | None:
    if upload.offset_low_s is None or upload.offset_high_s is None:
        return None
    return DeviceClock(upload.offset_low_s, upload.offset_high_s, verified=True)
