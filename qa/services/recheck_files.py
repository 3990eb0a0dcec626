"""Reads every stored file back, night after night, and tells when one is not what it was.

A slice takes seconds, so other slow work is done between two. What is checked stands in the
database: a crash repeats at most a slice, and a night that was missed is made up for.
"""

import logging
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from uuid import UUID

from django.conf import settings
from django.db import transaction

from duework.services import announce, keep_going
from qa.domain.night import last_night, next_night
from qa.models import CloseoutPackage, Evidence, FileCheck
from qa.sealed_files import lasting_sha256, sealed_key
from qa.services.read_evidence import EVIDENCE_READ
from repairs.models import Repair

log = logging.getLogger(__name__)

RECHECK_FILES = "recheck-files"
SLICE_S = 5.0
"""How long a slice goes on; the file in hand is finished."""
SLICE_FILES = 500

_MISSING = "it is missing"


@dataclass(frozen=True, slots=True)
class Checked:
    """A file that was read back."""

    storage_key: str
    problem: str


@dataclass(frozen=True, slots=True)
class Slice:
    """What one slice found, and whether it was the night's last."""

    checked: tuple[Checked, ...]
    is_last: bool


def begin_rechecks(*, now: datetime) -> None:
    """Have the files read back from the next night on, if that is not under way already."""
    keep_going(
        kind=RECHECK_FILES,
        subject_type="store",
        subject_id="all",
        dedupe_key=RECHECK_FILES,
        due_at=next_night(now, settings.RECHECK_HOUR_UTC),
    )


def recheck_slice(*, since: datetime, report: Callable[[], None]) -> Slice:
    """Read some files back that were not since then; slow, so outside any transaction."""
    found: list[Checked] = []
    until = time.monotonic() + SLICE_S
    for key, sha256 in islice(_unchecked(since), SLICE_FILES):
        found.append(Checked(key, _problem(key, sha256)))
        report()
        if time.monotonic() > until:
            return Slice(tuple(found), is_last=False)
    return Slice(tuple(found), is_last=len(found) < SLICE_FILES)


@transaction.atomic
def write_checks(*, found: Slice, now: datetime) -> datetime:
    """Keep what was found, tell of what changed, and return when to go on."""
    for each in found.checked:
        _write(each, now)
    return next_night(now, settings.RECHECK_HOUR_UTC) if found.is_last else now


def since_last_night(now: datetime) -> datetime:
    """Return since when a file must have been read back."""
    return last_night(now, settings.RECHECK_HOUR_UTC)


def _problem(key: str, sha256: str) -> str:
    is_now = lasting_sha256(key)
    if is_now == sha256:
        return ""
    return _MISSING if is_now is None else f"its SHA-256 is {is_now}"


def _unchecked(since: datetime) -> Iterator[tuple[str, str]]:
    """Yield key and hash of each stored file that was not read back since then."""
    done = set(
        FileCheck.objects.filter(checked_at__gte=since).values_list("storage_key", flat=True)
    )
    for name in ("sha256", "derived_sha256"):
        hashes = Evidence.objects.exclude(**{name: ""}).order_by(name)
        for sha256 in hashes.values_list(name, flat=True).distinct().iterator():
            if sealed_key(sha256) not in done:
                yield sealed_key(sha256), sha256
    for package in CloseoutPackage.objects.filter(ready_at__isnull=False).order_by("pk"):
        if package.sha256 and package.storage_key not in done:
            yield package.storage_key, package.sha256


def _write(found: Checked, now: datetime) -> None:
    row = FileCheck.objects.filter(pk=found.storage_key).first()
    before = "" if row is None else row.problem
    began = (row and row.broken_since) or now
    FileCheck.objects.update_or_create(
        storage_key=found.storage_key,
        defaults={
            "checked_at": now,
            "problem": found.problem,
            "broken_since": began if found.problem else None,
        },
    )
    if found.problem == before:
        return
    if found.problem:
        log.error("A stored file is not what it was: %s: %s", found.storage_key, found.problem)
    for repair_id in _repairs_of(found.storage_key):
        announce(
            topic=EVIDENCE_READ,
            subject_type="repair",
            subject_id=repair_id,
            dedupe_key=f"{EVIDENCE_READ}:recheck:{repair_id}:{now.timestamp():.6f}",
            now=now,
        )


def _repairs_of(storage_key: str) -> list[UUID]:
    """Return the ids of the repairs that a stored file belongs to."""
    sha256 = storage_key.rpartition("/")[2]
    originals = Repair.objects.filter(evidence__sha256=sha256)
    derived = Repair.objects.filter(evidence__derived_sha256=sha256)
    return list((originals | derived).distinct().values_list("pk", flat=True))
