"""A crew's day: where to go, in order, with what, and what it was told."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import F, Q

from dispatch.models import Assignment, Crew, Plan, PlanStop
from dispatch.pages.cure_pairs import meanwhile, order_of, together
from dispatch.pages.hours import day_of
from dispatch.pages.inbox import Told, open_notices, told_since
from dispatch.pages.load_out import LoadOut, load_out
from dispatch.selectors import crew_of, visible_assignments
from repairs.domain.defect_codes import meaning_of
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.domain.units import Dimension, words
from repairs.models import Account
from repairs.pages.clock_faces import ClockFace, stage_now
from repairs.pages.clock_words import hour, hours_there
from repairs.pages.figures import Figure, kit_words, pressure_words
from repairs.pages.live_faces import live_faces
from repairs.pages.marks import mark_of
from repairs.selectors import clocks_at, progress_of

MOST_LATER = 5
_SAME_START = timedelta(minutes=1)

_DONE = frozenset({Stage.FILMED, Stage.CLOSED, Stage.ACCEPTED, Stage.RETURNED, Stage.REWORK})
"""Nothing is left to do in the street."""

_LIVE = frozenset(stage.value for stage in LIVE_STAGES)

_BEGUN = _LIVE | {Stage.ON_SITE.value, Stage.PREPARED.value, Stage.WITHDRAWN.value}
"""Somebody is at it, and has not left: it is the crew's whatever the date says."""


@dataclass(frozen=True, slots=True)
class Job:
    """One assignment as the crew reads it."""

    repair_id: str
    ref: str
    times: str
    street: str
    site: str
    site_note: str
    stage: str
    mark: str
    on_hold: str
    meanwhile: str
    done: bool
    figures: tuple[Figure, ...]
    faces: tuple[ClockFace, ...]


@dataclass(frozen=True, slots=True)
class CrewDay:
    """Everything a crew's page shows."""

    crew: Crew
    today: date
    zone: str
    jobs: tuple[Job, ...]
    orders: tuple[str, ...]
    leaves: str
    later: tuple[Job, ...]
    later_count: int
    inbox: tuple[Told, ...]
    told_today: tuple[Told, ...]
    load_out: LoadOut


def crew_day(account: Account, *, now: datetime) -> CrewDay | None:
    """Gather the day of the account's crew; None for somebody who is in no crew."""
    crew = crew_of(account)
    if crew is None:
        return None
    first, last = day_of(now, crew.time_zone)
    rows = (
        visible_assignments(account)
        .filter(cancelled_at__isnull=True)
        .select_related(
            "repair__datum", "repair__run__upstream", "repair__run__downstream", "beside__repair"
        )
        .order_by("starts_at")
    )
    begun = Q(attempt=F("repair__attempt"), repair__stage__in=_BEGUN)
    today = sorted(
        rows.filter(Q(starts_at__lt=last, ends_at__gt=first) | begun), key=_live_ones_first
    )
    later = rows.filter(starts_at__gte=last).exclude(begun)
    given = _given_anew(today)
    jobs = tuple(_job(row, now, crew.time_zone, given) for row in today)
    to_do = {job.repair_id for job in jobs if not job.done}
    date_there = now.astimezone(ZoneInfo(crew.time_zone)).date()
    return CrewDay(
        crew=crew,
        today=date_there,
        zone=crew.time_zone,
        jobs=jobs,
        orders=tuple(
            order_of(chain)
            for chain in together(today)
            if any(str(row.repair_id) in to_do for row in chain)
        ),
        leaves=_leaves(crew, today, now),
        later=tuple(_job(row, now, crew.time_zone, given) for row in later[:MOST_LATER]),
        later_count=later.count(),
        inbox=open_notices(account, now=now),
        told_today=told_since(account, since=first, now=now),
        load_out=load_out(crew, today, today=date_there),
    )


def _leaves(crew: Crew, today: Sequence[Assignment], now: datetime) -> str:
    """Say when to leave the yard by the plan that stands, until it is time; else nothing."""
    zone = ZoneInfo(crew.time_zone)
    stop = (
        PlanStop.objects.filter(
            crew=crew, plan__state=Plan.PUBLISHED, on=now.astimezone(zone).date(), number=1
        )
        .order_by("-plan__published_at")
        .first()
    )
    told = stop.numbers.get("day_leaves_at") if stop else None
    if stop is None or told is None or datetime.fromisoformat(told) <= now:
        return ""
    # Moved by hand since: then the plan's hour is not this crew's any more.
    stands = any(
        row.repair_id == stop.repair_id and abs(row.starts_at - stop.starts_at) < _SAME_START
        for row in today
    )
    at, there = (
        hour(each, crew.time_zone, now=now)
        for each in (datetime.fromisoformat(told), stop.arrives_at)
    )
    return f"Leave the yard at {at}: at {stop.name} by {there}." if stands else ""


def _live_ones_first(row: Assignment) -> tuple[bool, bool, datetime]:
    """Put live resin on top, then what somebody is at, then the rest by its time."""
    stage = row.repair.stage
    return stage not in _LIVE, stage not in _BEGUN, row.starts_at


def _given_anew(rows: Sequence[Assignment]) -> frozenset[UUID]:
    """Return the repairs under way anew whose present attempt somebody was given."""
    anew = [row.repair_id for row in rows if row.attempt != row.repair.attempt]
    present = Assignment.objects.filter(
        repair__in=anew, attempt=F("repair__attempt"), cancelled_at__isnull=True
    )
    return frozenset(present.values_list("repair_id", flat=True))


def _job(row: Assignment, now: datetime, page_zone: str, given: frozenset[UUID]) -> Job:
    repair, site = row.repair, row.repair.run.site
    # Begun anew and given to nobody yet: what happens in it happens on this crew's row.
    over = row.attempt != repair.attempt and row.repair_id in given
    attempt = row.attempt if over else repair.attempt
    progress = progress_of(repair, attempt=attempt)
    clocks = clocks_at(repair, now=now, attempt=attempt)
    stage = stage_now(progress.stage.value, clocks)
    zone = site.time_zone
    return Job(
        repair_id=str(repair.pk),
        ref=repair.ref,
        times=hours_there(row.starts_at, row.ends_at, zone, now=now, page_zone=page_zone),
        street=site.street,
        site=site.ref,
        site_note=site.note,
        stage=stage,
        mark=mark_of(stage),
        on_hold=repair.on_hold,
        meanwhile=meanwhile(row),
        # An attempt that another one followed is over, however far it came.
        done=over or stage in _DONE,
        figures=_figures(row),
        faces=live_faces(repair, zone, now, attempt=attempt),
    )


def _figures(row: Assignment) -> tuple[Figure, ...]:
    repair, run = row.repair, row.repair.run
    result = row.prescription.result or {}
    pipe = [f"run {run.ref}", words(run.diameter_mm, Dimension.DIAMETER, 0), run.material]
    pipe.append(f"{words(run.length_m, Dimension.LENGTH)} long")
    if run.depth_m is not None:
        pipe.append(f"{words(run.depth_m, Dimension.LENGTH)} deep")
    found = (
        Figure("Pipe", ", ".join(pipe)),
        Figure("Access", f"from {run.upstream.ref} down to {run.downstream.ref}"),
        Figure("Defect", f"{repair.defect_code}, {meaning_of(repair.defect_code)}"),
        Figure("Where", f"{words(repair.distance_m, Dimension.LENGTH, 2)} from {repair.datum.ref}"),
        Figure("Kit", kit_words(result)),
        Figure("Pressure", pressure_words(result)),
    )
    return tuple(each for each in found if each.words)
