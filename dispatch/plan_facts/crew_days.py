"""From a crew's rows to its days: hours, lunch, who may do what, which gear, which kits."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Min, Prefetch, Q, QuerySet

from dispatch.domain.clash import Stock
from dispatch.domain.plan.problem import CrewDay, Lunch, Overlap, PackerRange
from dispatch.domain.plan_horizon import Horizon, instant_of
from dispatch.domain.what_if import Supposed
from dispatch.models import Assignment, Crew, Qualification, WorkHours
from dispatch.models.assignment import FREE_AT
from dispatch.plan_facts.places import Places, place_of_yard
from dispatch.selectors import free_stock
from repairs.domain.progress import Stage

_OVER = (Stage.FILMED.value, Stage.CLOSED.value, Stage.ACCEPTED.value)

LEAST_PEOPLE_BESIDE = 3
"""One with the live packer, two at the next set-up. Common practice, no source; the safety plan and
local codes may ask for more, and then the crew's `beside_cure` stays off."""


@dataclass(frozen=True, slots=True)
class CrewLeftOut:
    """A crew without a place in the plan, or without one on a day, and why."""

    crew: str
    code: str
    words: str


@dataclass(frozen=True, slots=True)
class CrewFacts:
    """The days of all crews, and what each crew has for all its days together."""

    days: tuple[CrewDay, ...]
    stock: Mapping[tuple[str, str], int]
    left_out: tuple[CrewLeftOut, ...]


def crews_to_plan() -> list[Crew]:
    """Return all crews with what a plan asks of them."""
    held = Qualification.objects.order_by("pk")
    rows = Crew.objects.select_related("yard").prefetch_related(
        "work_hours", "equipment", Prefetch("members__qualifications", queryset=held)
    )
    return list(rows.order_by("code"))


def crew_facts(
    crews: Iterable[Crew],
    horizon: Horizon,
    supposed: Supposed,
    places: Places,
    replanned: Iterable[UUID],
) -> CrewFacts:
    """Return the crew-days of a horizon.

    Parameters
    ----------
    replanned : iterable of UUID
        The live assignments that the plan may move: their kits are free for it.
    """
    days: list[CrewDay] = []
    left_out: list[CrewLeftOut] = []
    stock: dict[tuple[str, str], int] = {}
    moved = list(replanned)
    for crew in crews:
        if crew.yard is None:
            words = "nobody has said from which yard it leaves"
            left_out.append(CrewLeftOut(crew.code, "no_yard", words))
            continue
        dated = list(_working_dates(crew, horizon, supposed, left_out))
        if not dated:
            continue
        kits = _kits(crew, horizon, moved)
        stock |= {(crew.code, code): count for code, count in kits.items()}
        yard = places.number(place_of_yard(crew.yard))
        for on, hours in dated:
            plain = _day(crew, horizon, supposed, hours, on)
            days.append(replace(plain, kits=kits, start_place=yard, end_place=yard))
    return CrewFacts(tuple(days), stock, tuple(left_out))


def crew_day_ref(crew: str, on: date) -> str:
    """Return what a plan calls a crew on a date."""
    return f"{crew}/{on.isoformat()}"


def _working_dates(
    crew: Crew, horizon: Horizon, supposed: Supposed, left_out: list[CrewLeftOut]
) -> Iterator[tuple[date, WorkHours]]:
    rows = list(crew.work_hours.all())
    by_date = {row.on: row for row in rows if row.on is not None}
    by_weekday = {row.weekday: row for row in rows if row.weekday is not None}
    if not rows:
        words = "nobody has said when it works"
        left_out.append(CrewLeftOut(crew.code, "no_hours", words))
    for day in range(horizon.days):
        on = horizon.date_of(day)
        hours = by_date.get(on) or by_weekday.get(on.weekday())
        if hours is None:
            continue
        if supposed.is_away(crew.code, on):
            left_out.append(CrewLeftOut(crew.code, "away", f"is supposed not to go out on {on}"))
        elif hours.begins is None:
            why = f": {hours.note}" if hours.note else ""
            left_out.append(CrewLeftOut(crew.code, "day_off", f"has {on} off{why}"))
        else:
            yield on, hours


def _day(crew: Crew, horizon: Horizon, supposed: Supposed, hours: WorkHours, on: date) -> CrewDay:
    """Return a crew-day without its yard and its kits."""
    begins, ends = span_of(hours, on, crew.time_zone)
    starts_s, ends_s = horizon.seconds(begins), horizon.seconds(ends)
    starts_s = min(starts_s + supposed.late_s(crew.code, on), ends_s)
    return CrewDay(
        ref=crew_day_ref(crew.code, on),
        crew=crew.code,
        day=horizon.day(on),
        starts_s=starts_s,
        ends_s=ends_s,
        overtime_s=60 * crew.most_overtime_min,
        start_place=0,
        end_place=0,
        lunch=_lunch(crew, horizon, on),
        qualifications=frozenset(
            held.kind
            for member in crew.members.all()
            for held in member.qualifications.all()
            if held.expires_on >= on
        ),
        packers=tuple(
            PackerRange(
                row.diameter_min_mm or 0.0, row.diameter_max_mm or 0.0, row.length_m, row.limit_kpa
            )
            for row in sorted(crew.equipment.all(), key=lambda each: each.serial)
            if row.kind == "packer"
            and row.test_due_on >= on
            and not row.out_of_use
            and not supposed.is_out(row.serial)
        ),
        overlap=_overlap(crew, on),
    )


def _overlap(crew: Crew, on: date) -> Overlap | None:
    """Return what is allowed beside a cure.

    Each live packer wants a gauge that is in test and somebody who stays with it, while two
    others set up: nobody works at an access point alone.
    """
    if not crew.beside_cure:
        return None
    gauges = sum(
        row.kind == "gauge" and row.test_due_on >= on and not row.out_of_use
        for row in crew.equipment.all()
    )
    return Overlap(
        60 * crew.beside_drive_min,
        60 * crew.beside_wait_min,
        people_enough=len(crew.members.all()) >= LEAST_PEOPLE_BESIDE,
        loggers=gauges,
    )


def span_of(hours: WorkHours, on: date, zone: str) -> tuple[datetime, datetime]:
    """Return from when to when a crew works on a date, as instants."""
    assert hours.begins is not None and hours.ends is not None  # noqa: S101, PT018 - no day off
    overnight = hours.ends <= hours.begins
    last = on + timedelta(days=1) if overnight else on
    return instant_of(on, hours.begins, zone), instant_of(last, hours.ends, zone)


def _lunch(crew: Crew, horizon: Horizon, on: date) -> Lunch | None:
    if not crew.lunch_min or crew.lunch_from is None or crew.lunch_until is None:
        return None
    first, last = (
        horizon.seconds(instant_of(on, at, crew.time_zone))
        for at in (crew.lunch_from, crew.lunch_until)
    )
    return Lunch(first, last, 60 * crew.lunch_min, in_cure=crew.lunch_in_cure)


def _kits(crew: Crew, horizon: Horizon, moved: list[UUID]) -> dict[str, int]:
    """Return by code the kits that are free and in date on every day of the horizon.

    A kit that goes off within it is not counted: the plan knows one number for all days, and
    nothing may be planned on a kit that will be out of date then.
    """
    last = horizon.date_of(horizon.days - 1)
    found: dict[str, int] = {}
    for each in stock_beside(crew, moved):
        if each.expires_on >= last:
            found[each.kit_code] = found.get(each.kit_code, 0) + max(0, each.free)
    return found


def stock_beside(crew: Crew, moved: Iterable[UUID]) -> tuple[Stock, ...]:
    """Return the kits on a truck that no other live assignment than those moved needs."""
    counted = crew.kit_stock.aggregate(first=Min("counted_at"))["first"]
    if counted is None:
        return ()
    others: QuerySet[Assignment] = Assignment.objects.filter(
        crew=crew, cancelled_at__isnull=True
    ).exclude(pk__in=list(moved))
    # What was over before the truck was counted is gone from the count.
    over = Q(repair__stage__in=_OVER) & Q(free_at__lt=counted)
    return free_stock(crew, others.alias(free_at=FREE_AT).exclude(over))
