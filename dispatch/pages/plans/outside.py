"""What has no place in a plan: why, counted over the crew-days, and the cheapest ways in."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from dispatch.models import PlanLeftOut
from dispatch.pages.plans.plan_words import day_words, price_words, reason_words
from dispatch.pages.plans.promise import where_words
from dispatch.plan_facts.plan_reading import PlanReading


@dataclass(frozen=True, slots=True)
class Counted:
    """A reason with the crew-days it holds on; `percent` of them all."""

    words: str
    count: int
    percent: int


@dataclass(frozen=True, slots=True)
class WayInLine:
    """A place it could have, ready to be taken with one button.

    `instead_of` is the id of the repair that leaves the plan for it; empty: none has to.
    """

    words: str
    price: str
    crew: str
    on: str
    number: int
    instead_of: str


@dataclass(frozen=True, slots=True)
class LeftOutLine:
    """A repair that was left out; `was` is what was promised of it, empty for nothing."""

    repair_id: str
    name: str
    street: str
    priority: str
    nearest: str
    was: str
    counted: tuple[Counted, ...]
    crew_days: int
    ways_in: tuple[WayInLine, ...]


@dataclass(frozen=True, slots=True)
class RefusedLine:
    """A repair that no plan could hold, and what would help; `was` is what was promised of it."""

    repair_id: str
    name: str
    street: str
    reason: str
    words: str
    was: str


def left_out_lines(reading: PlanReading) -> tuple[LeftOutLine, ...]:
    """Return what was left out, the highest priority first."""
    told = _told_before(reading)
    lines = [_line(reading, row, told) for row in reading.outside if not row.refused]
    return tuple(sorted(lines, key=lambda each: (each.priority, each.name)))


def refused_lines(reading: PlanReading) -> tuple[RefusedLine, ...]:
    """Return what was refused before anything was planned."""
    told = _told_before(reading)
    return tuple(
        RefusedLine(
            repair_id=str(row.repair_id),
            name=row.name,
            street=row.repair.run.site.street,
            reason=reason_words(row.code),
            words=_sentence(row),
            was=told.get(row.name, ""),
        )
        for row in reading.outside
        if row.refused
    )


def _told_before(reading: PlanReading) -> Mapping[str, str]:
    """Return by name what a crew was told of a repair before, in words."""
    return {
        each["repair"]: where_words(each["was"], reading.plan.zone)
        for each in reading.plan.differences
        if each.get("was")
    }


def _line(reading: PlanReading, row: PlanLeftOut, told: Mapping[str, str]) -> LeftOutLine:
    total = sum(row.counted.values())
    order = sorted(row.counted.items(), key=lambda each: (-each[1], each[0]))
    return LeftOutLine(
        repair_id=str(row.repair_id),
        name=row.name,
        street=row.repair.run.site.street,
        priority=reading.problem.repair[row.name].priority.value,
        nearest=str(row.closest["words"]) if row.closest else "",
        was=told.get(row.name, ""),
        counted=tuple(
            Counted(reason_words(code), count, round(100 * count / max(total, 1)))
            for code, count in order
        ),
        crew_days=total,
        ways_in=tuple(_way(each) for each in row.ways_in),
    )


def _way(way: Mapping[str, Any]) -> WayInLine:
    on = date.fromisoformat(way["on"])
    instead = str(way.get("instead_of") or "")
    words = f"crew {way['crew']}, {day_words(on)}, as stop {way['number']}"
    if instead:
        words = f"{words}, instead of {instead}"
    more = int(way["more_s"])
    price = f"costs {price_words(more)} more" if more > 0 else "costs nothing more"
    if more < 0:
        price = f"saves {price_words(-more)}"
    leaves = str(way.get("instead_of_repair") or "")
    return WayInLine(words, price, way["crew"], way["on"], int(way["number"]), leaves)


def _sentence(row: PlanLeftOut) -> str:
    words = row.words.removeprefix(row.name).strip().rstrip(".")
    return f"{words[:1].upper()}{words[1:]}."
