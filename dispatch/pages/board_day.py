"""Today at a glance: what each crew does, which resin is live, what nobody has."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from dispatch.domain.day_strip import tracks
from dispatch.models import Assignment, Crew
from dispatch.pages.hours import Axis, axis_for, day_of, usual_zone
from dispatch.selectors import visible_repairs
from repairs.domain.defect_codes import meaning_of
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.models import Account, Repair
from repairs.pages.clock_faces import ClockFace, stage_now
from repairs.pages.clock_words import hours_there
from repairs.pages.live_faces import WORKING_TIME, live_faces
from repairs.pages.marks import mark_of
from repairs.selectors import clocks_at, prescription_in_force, progress_of

ROW_HEIGHT = 58
MOST_ROWS = 50
"""A board is for a glance; the API lists the rest."""


@dataclass(frozen=True, slots=True)
class Block:
    """An assignment on a lane: where it lies, percent of the axis, and what it says."""

    repair_id: str
    ref: str
    street: str
    stage: str
    mark: str
    on_hold: str
    times: str
    beside: str
    left: float
    width: float
    y: int


@dataclass(frozen=True, slots=True)
class Lane:
    """A crew's day."""

    crew: str
    height: int
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class LiveResin:
    """A repair with resin mixed and the packer not yet out."""

    repair_id: str
    ref: str
    street: str
    crew: str
    stage: str
    mark: str
    faces: tuple[ClockFace, ...]


@dataclass(frozen=True, slots=True)
class Waiting:
    """A repair that no crew has."""

    repair_id: str
    ref: str
    customer: str
    street: str
    run: str
    defect: str
    state: str
    promised: str


@dataclass(frozen=True, slots=True)
class BoardDay:
    """Everything of dispatch that a board shows."""

    axis: Axis
    now_percent: float
    lanes: tuple[Lane, ...]
    live: tuple[LiveResin, ...]
    waiting: tuple[Waiting, ...]
    waiting_count: int


def board_day(account: Account, *, now: datetime) -> BoardDay:
    """Gather today for whoever may see it."""
    crews = list(Crew.objects.order_by("name", "code"))
    zone = usual_zone(crew.time_zone for crew in crews)
    first, last = day_of(now, zone)
    rows = list(
        Assignment.objects.select_related("repair__run__site", "crew", "beside__repair")
        .filter(cancelled_at__isnull=True, starts_at__lt=last, ends_at__gt=first)
        .order_by("starts_at")
    )
    axis = axis_for([(row.starts_at, row.ends_at) for row in rows], now=now, zone=zone)
    live = _live(account, now)
    stages = _stages(rows, {each.repair_id: each.stage for each in live})
    waiting = unassigned(account)
    return BoardDay(
        axis=axis,
        now_percent=axis.percent(now),
        lanes=tuple(
            _lane(crew, [row for row in rows if row.crew_id == crew.pk], axis, stages, now)
            for crew in crews
        ),
        live=live,
        waiting=tuple(_waiting(repair) for repair in waiting[:MOST_ROWS]),
        waiting_count=waiting.count(),
    )


def unassigned(account: Account) -> QuerySet[Repair]:
    """Return repairs under way that no crew has, the earliest promise first."""
    given = Assignment.objects.filter(
        repair=OuterRef("pk"), attempt=OuterRef("attempt"), cancelled_at__isnull=True
    )
    return (
        visible_repairs(account)
        .exclude(stage__in=[Stage.CLOSED.value, Stage.ACCEPTED.value])
        .filter(~Exists(given))
        .order_by("work_order__promised_by", "created_at", "ref")
    )


def _lane(
    crew: Crew,
    rows: Sequence[Assignment],
    axis: Axis,
    stages: dict[UUID, str],
    now: datetime,
) -> Lane:
    index: dict[UUID | None, int] = {}
    outers = []
    for at, row in enumerate(rows):
        outers.append(index.get(row.beside_id))
        index[row.pk] = at
    # What is set up in another's cure has a row of its own: neither covers the other.
    tops = tracks(outers)
    return Lane(
        crew=crew.name,
        height=ROW_HEIGHT * (1 + max(tops, default=0)),
        blocks=tuple(
            _block(row, axis, stages[row.pk], now, top=top)
            for row, top in zip(rows, tops, strict=True)
        ),
    )


def _stages(rows: Sequence[Assignment], live_stages: dict[str, str]) -> dict[UUID, str]:
    """Return the stage of each assignment's own attempt; the repair may be under way anew."""
    return {
        row.pk: live_stages.get(str(row.repair_id), row.repair.stage)
        if row.attempt == row.repair.attempt
        else progress_of(row.repair, attempt=row.attempt).stage.value
        for row in rows
    }


def _block(row: Assignment, axis: Axis, stage: str, now: datetime, *, top: int) -> Block:
    repair = row.repair
    left, right = axis.percent(row.starts_at), axis.percent(row.ends_at)
    zone = repair.run.site.time_zone
    return Block(
        repair_id=str(repair.pk),
        ref=repair.ref,
        street=repair.run.site.street,
        stage=stage,
        mark=mark_of(stage),
        on_hold=repair.on_hold,
        times=hours_there(row.starts_at, row.ends_at, zone, now=now, page_zone=axis.zone),
        beside=f"while {row.beside.repair.ref} cures" if row.beside else "",
        left=left,
        width=round(right - left, 2),
        y=ROW_HEIGHT * top + 5,
    )


def _live(account: Account, now: datetime) -> tuple[LiveResin, ...]:
    stages = [stage.value for stage in LIVE_STAGES]
    repairs = visible_repairs(account).filter(stage__in=stages)
    found = [_live_resin(repair, now) for repair in repairs]
    # Whoever still has to inflate comes first, then the earliest end of a hold.
    return tuple(sorted(found, key=_urgency))


def _live_resin(repair: Repair, now: datetime) -> LiveResin:
    clocks = clocks_at(repair, now=now)
    stage = stage_now(repair.stage, clocks)
    row = Assignment.objects.select_related("crew").filter(
        repair=repair, attempt=repair.attempt, cancelled_at__isnull=True
    )
    assignment = row.first()
    return LiveResin(
        repair_id=str(repair.pk),
        ref=repair.ref,
        street=repair.run.site.street,
        crew=assignment.crew.name if assignment else "no crew",
        stage=stage,
        mark=mark_of(stage),
        faces=live_faces(repair, repair.run.site.time_zone, now),
    )


def _urgency(live: LiveResin) -> tuple[bool, float, str]:
    face = live.faces[0] if live.faces else None
    until = face.until.timestamp() if face and face.until else 0.0
    return face is None or not face.name.endswith(WORKING_TIME), until, live.ref


def _waiting(repair: Repair) -> Waiting:
    prescription = prescription_in_force(repair)
    promised = repair.work_order.promised_by
    return Waiting(
        repair_id=str(repair.pk),
        ref=repair.ref,
        customer=repair.work_order.customer.name,
        street=repair.run.site.street,
        run=repair.run.ref,
        defect=f"{repair.defect_code}: {meaning_of(repair.defect_code)}",
        state=(
            repair.on_hold
            or (f"fit: {prescription.fitness}" if prescription else "no prescription yet")
        ),
        promised=f"promised by {promised:%d %b %Y}" if promised else "",
    )
