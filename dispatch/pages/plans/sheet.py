"""A plan as its page shows it: day by day and crew by crew, then what has no place in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any, NamedTuple

from dispatch.domain.plan.problem import CrewDay
from dispatch.models import Crew, PlanStop
from dispatch.pages.hours import Axis, axis_of
from dispatch.pages.plans.plan_words import clock_words, day_words, long_words
from dispatch.pages.plans.promise import Promised, promised
from dispatch.pages.plans.route_map import RouteMap, route_map
from dispatch.pages.plans.strips import Strip, strip_of
from dispatch.plan_facts.plan_reading import PlanReading
from repairs.pages.clock_words import offset


@dataclass(frozen=True, slots=True)
class StopLine:
    """One stop as it is read."""

    repair_id: str
    name: str
    number: int
    street: str
    priority: str
    arrives: str
    works: str
    slack: str
    tight: bool
    beside: str
    promise: Promised


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """A crew's day: its strip, its stops, and the day in a line of words."""

    crew: str
    code: str
    zone: str
    words: str
    overtime: str
    by_road: bool
    strip: Strip
    stops: tuple[StopLine, ...]


@dataclass(frozen=True, slots=True)
class DaySheet:
    """One day of the plan."""

    key: str
    title: str
    axis: Axis
    offset: str
    crews: tuple[CrewSheet, ...]
    in_the_yard: tuple[str, ...]
    map: RouteMap | None


class _Known(NamedTuple):
    crews: Mapping[str, Crew]
    changes: Mapping[str, dict[str, Any]]


def day_sheets(reading: PlanReading) -> tuple[DaySheet, ...]:
    """Return every day on which a crew could go out."""
    known = _Known(
        {crew.code: crew for crew in Crew.objects.select_related("yard")},
        {each["repair"]: each for each in reading.plan.differences},
    )
    found = []
    for number, group in groupby(reading.crew_days, key=lambda each: each[0].day):
        found.append(_day(reading, number, list(group), known))
    return tuple(found)


def _day(
    reading: PlanReading,
    number: int,
    days: list[tuple[CrewDay, tuple[PlanStop, ...]]],
    known: _Known,
) -> DaySheet:
    names = known.crews
    on, at = reading.horizon.date_of(number), reading.horizon.at
    out = [(day, stops) for day, stops in days if stops]
    spans = [(at(day.starts_s), max(at(day.last_back_s), _back(stops))) for day, stops in out]
    spans = spans or [(at(day.starts_s), at(day.ends_s)) for day, _ in days]
    axis = axis_of(spans, reading.horizon.zone)
    return DaySheet(
        key=on.isoformat(),
        title=day_words(on),
        axis=axis,
        offset=offset(axis.start, axis.zone),
        crews=tuple(_crew(reading, day, stops, axis, known) for day, stops in out),
        in_the_yard=tuple(_name(names.get(day.crew), day) for day, stops in days if not stops),
        map=route_map([(day, stops) for day, stops in out], names),
    )


def _crew(
    reading: PlanReading,
    day: CrewDay,
    stops: tuple[PlanStop, ...],
    axis: Axis,
    known: _Known,
) -> CrewSheet:
    crew = known.crews.get(day.crew)
    zone = crew.time_zone if crew else axis.zone
    numbers = stops[0].numbers
    overtime_s = int(numbers["day_overtime_s"])
    other = offset(axis.start, zone)
    return CrewSheet(
        crew=_name(crew, day),
        code=day.crew,
        zone="" if other == offset(axis.start, axis.zone) else other,
        words=_day_words(reading, day, stops, zone),
        overtime=f"{long_words(overtime_s)} of overtime" if overtime_s else "",
        by_road=numbers["travel_source"] == "road",
        strip=strip_of(reading, day, stops, axis),
        stops=tuple(_line(reading, stop, zone, known.changes.get(stop.name)) for stop in stops),
    )


def _day_words(reading: PlanReading, day: CrewDay, stops: Sequence[PlanStop], zone: str) -> str:
    numbers = stops[0].numbers
    said = [
        f"leaves {clock_words(reading.horizon.at(day.starts_s), zone)}",
        f"back {clock_words(_back(stops), zone)}",
        f"{long_words(numbers['day_travel_s'])} of driving",
    ]
    if numbers.get("lunch_at"):
        at = clock_words(datetime.fromisoformat(numbers["lunch_at"]), zone)
        where = {"cure": " beside a cure", "wait": " while waiting"}.get(numbers["lunch_where"], "")
        said.append(f"lunch {at}{where}")
    return ", ".join(said)


def _line(
    reading: PlanReading, stop: PlanStop, zone: str, change: Mapping[str, Any] | None
) -> StopLine:
    spans = (stop.starts_at, stop.ends_at)
    return StopLine(
        repair_id=str(stop.repair_id),
        name=stop.name,
        number=stop.number,
        street=stop.repair.run.site.street,
        priority=reading.problem.repair[stop.name].priority.value,
        arrives=clock_words(stop.arrives_at, zone),
        works=" to ".join(clock_words(at, zone) for at in spans),
        slack=long_words(stop.slack_s),
        tight=stop.slack_s < TIGHT_S,
        beside=stop.beside.name if stop.beside else "",
        promise=promised(change, told=stop.name in reading.problem.promised, zone=zone),
    )


TIGHT_S = int(timedelta(minutes=15).total_seconds())
"""A crew that may come less late than this has no room for a closed lane (common practice)."""


def _back(stops: Sequence[PlanStop]) -> datetime:
    return datetime.fromisoformat(stops[0].numbers["day_back_at"])


def _name(crew: Crew | None, day: CrewDay) -> str:
    return crew.name if crew else day.crew
