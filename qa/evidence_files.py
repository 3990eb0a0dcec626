"""From a row of evidence to what the rules, the pages and the API know of the file."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from dispatch.selectors import visible_repairs
from qa.camera_clocks import camera_offset, clock_remark
from qa.domain.evidence_kind import EvidenceKind, media_of
from qa.domain.file_remarks import far_away, log_gaps, same_bytes
from qa.domain.pressure_csv import ParsedLog, parse_pressure_csv
from qa.domain.repair_facts import EvidenceFile
from qa.domain.series import unpacked
from qa.models import Evidence
from qa.sealed_files import path_of
from repairs.domain.event_order import Moment
from repairs.domain.roles import CREW, OFFICE
from repairs.models import Account

PLACE = ("position", "nearest")
"""Facts that say where somebody stood: for the office and the crew, not for the client."""


def file_of(row: Evidence, *, now: datetime) -> EvidenceFile:
    """Return the file as the rules see it, by what was known at `now`."""
    written = container_start(row)
    return EvidenceFile(
        id=str(row.id),
        kind=EvidenceKind(row.kind),
        sha256=row.sha256,
        captured=_captured(row),
        container_start=written,
        duration_s=row.facts.get("duration_s"),
        probed=row.probed_at is not None,
        problem=row.problem,
        also_used_for=also_used_for(row),
        received_at=row.received_at,
        camera=camera_offset(row, written, now=now),
    )


def _captured(row: Evidence) -> Moment | None:
    if row.captured_at is None:
        return None
    earliest = row.captured_at + timedelta(seconds=row.offset_low_s)
    latest = row.captured_at + timedelta(seconds=row.offset_high_s)
    return Moment(earliest, earliest + (latest - earliest) / 2, latest)


def container_start(row: Evidence) -> datetime | None:
    """Return the time a film's own file gives, as it is written there."""
    written = row.facts.get("creation_time")
    found = datetime.fromisoformat(written) if isinstance(written, str) else None
    return found if found is not None and found.tzinfo is not None else None


def also_used_for(row: Evidence, *, told: Account | None = None) -> tuple[str, ...]:
    """Name what the same bytes were handed in for before: only the later intake is doubtful.

    With `told` a repair which that account may not see stays unnamed.
    """
    before = Q(received_at__lt=row.received_at) | Q(received_at=row.received_at, pk__lt=row.pk)
    rows = (
        Evidence.objects.filter(before, sha256=row.sha256, taken_back_at__isnull=True)
        .exclude(Q(repair=row.repair_id) & Q(kind=row.kind))
        .select_related("repair")
    )
    seen = None if told is None else set(visible_repairs(told).values_list("pk", flat=True))
    return tuple(sorted({_use(other, row, seen) for other in rows}))


def _use(other: Evidence, row: Evidence, seen: set[UUID] | None) -> str:
    if other.repair_id == row.repair_id:
        return other.kind.replace("_", " ")
    return other.repair.ref if seen is None or other.repair_id in seen else "another crew's repair"


def readable_logs(rows: list[Evidence]) -> list[tuple[str, ParsedLog]]:
    """Return the pressure logs among the evidence that were read without a problem."""
    return [
        (str(row.id), _log(row))
        for row in rows
        if row.kind == EvidenceKind.PRESSURE_LOG and row.probed_at and not row.problem
    ]


def _log(row: Evidence) -> ParsedLog:
    """Return the numbers of a log: its text was parsed under limits, when it was read."""
    if row.derived_sha256:
        content = path_of(row.derived_sha256).read_bytes()
        return unpacked(content, str(row.facts.get("pressure_unit", "")))
    # Read by an earlier version, which kept no numbers.
    return parse_pressure_csv(path_of(row.sha256).read_text("utf-8", "replace"))


def has_preview(row: Evidence) -> bool:
    """Whether there is a picture of the file that a browser may show."""
    return bool(row.derived_sha256) and media_of(EvidenceKind(row.kind)) != "series"


def shown_facts(row: Evidence, account: Account) -> dict[str, Any]:
    """Return the facts an account may see: the place only for whoever plans or works there."""
    sees_places = account.role in OFFICE | CREW
    return {key: value for key, value in row.facts.items() if sees_places or key not in PLACE}


def shown_remarks(row: Evidence, account: Account) -> tuple[str, ...]:
    """Return what whoever judges a file should know; a client judges the package."""
    if account.role not in OFFICE | CREW:
        return ()
    found = (
        same_bytes(also_used_for(row, told=account)),
        far_away(row.facts),
        log_gaps(row.facts),
        clock_remark(row),
    )
    return tuple(words for words in found if words)
