"""Invented cases of the trade, by seed: the same seed is the same case.

After the study this rests on: shifts of eight to ten hours from six, seven or eight, up to
90 minutes of overtime, two certificates and two packer sizes, four to six kits on a truck,
work by windows, some days barred, priorities A, B and C, a few repairs pinned to a crew.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from random import Random

from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.problem import (
    CrewDay,
    Lunch,
    Overlap,
    PackerRange,
    PlannedRepair,
    Problem,
    Window,
)
from dispatch.domain.plan.travel import Estimate, LatLon
from dispatch.domain.plan.weights import Priority

ORIGIN = datetime(2026, 11, 30, tzinfo=UTC)
DAY_S, HOUR_S, MIN_S = 86_400, 3600, 60
KIT = "KIT"
SIZES_MM = (150.0, 225.0, 300.0, 450.0)
ANY = PackerRange(100, 500, 1.2)
SMALL, LARGE = PackerRange(100, 250, 1.2), PackerRange(225, 500, 1.2)


@dataclass(frozen=True, slots=True)
class Case:
    """What kind of case: how many crews, repairs, days, and days on which somebody works.

    Parameters
    ----------
    starts_inside : bool
        A window holds only the start of the work, not all of it.
    cure_margin : float
        How much longer than expected the longest cure to reckon with is.
    overlap : Overlap or None
        Whether crews may set up the next repair during a cure. Then a crew with two packers has
        two that serve all sizes.
    """

    crews: int
    repairs: int
    days: int
    working_days: int
    half_degrees: float = 0.2
    lunch: bool = True
    starts_inside: bool = False
    cure_margin: float = 0.1
    overlap: Overlap | None = None


KINDS = {
    "day": (Case(12, 80, 3, 3, starts_inside=True, cure_margin=0.0), 10.0),
    "tight": (Case(12, 80, 3, 3), 10.0),
    "week": (Case(40, 400, 7, 5), 30.0),
    "overload": (Case(6, 80, 3, 3), 10.0),
}
"""Each with the seconds of processor time that are usual for its size."""


def make(case: Case, seed: int) -> Problem:
    """Return the case of a seed."""
    chance = Random(seed)
    yards = max(1, case.crews // 6)
    places = [_place(chance, case, near=0.6) for _ in range(yards)]
    places += [_place(chance, case, near=1.0) for _ in range(case.repairs)]
    crews = [_crew(chance, number) for number in range(case.crews)]
    crew_days = tuple(
        _crew_day(case, crew, day, number % yards)
        for day in range(case.working_days)
        for number, crew in enumerate(crews)
    )
    repairs = tuple(
        _repair(chance, case, f"R{number:03d}", yards + number, crews)
        for number in range(case.repairs)
    )
    return Problem(ORIGIN, case.days, Estimate().travel(places), crew_days, repairs)


@dataclass(frozen=True, slots=True)
class _Crew:
    name: str
    starts_h: int
    hours: int
    holds: frozenset[str]
    packers: tuple[PackerRange, ...]
    kits: int


def _crew(chance: Random, number: int) -> _Crew:
    holds = frozenset(each for each in ("confined", "traffic") if chance.random() < 0.75)
    packers = chance.choice([(SMALL, LARGE), (SMALL, LARGE), (SMALL,), (LARGE,)])
    return _Crew(
        f"crew-{number:02d}",
        chance.choice([6, 7, 8]),
        chance.choice([8, 9, 10]),
        holds,
        packers,
        chance.randint(4, 6),
    )


def _crew_day(case: Case, crew: _Crew, day: int, yard: int) -> CrewDay:
    midnight = day * DAY_S
    starts = midnight + crew.starts_h * HOUR_S
    lunch = Lunch(midnight + 11 * HOUR_S, midnight + 14 * HOUR_S, 30 * MIN_S)
    return CrewDay(
        f"{crew.name}/{day}",
        crew.name,
        day,
        starts,
        starts + crew.hours * HOUR_S,
        90 * MIN_S,
        yard,
        yard,
        lunch if case.lunch else None,
        crew.holds,
        (ANY, ANY) if case.overlap is not None and len(crew.packers) > 1 else crew.packers,
        {KIT: crew.kits},
        case.overlap,
    )


def _repair(chance: Random, case: Case, ref: str, place: int, crews: list[_Crew]) -> PlannedRepair:
    cure = chance.randint(45, 120) * MIN_S
    needs = frozenset(each for each in ("confined", "traffic") if chance.random() < 0.2)
    size = chance.choice(SIZES_MM)
    able = [
        crew.name
        for crew in crews
        if needs <= crew.holds
        and any(p.diameter_min_mm <= size <= p.diameter_max_mm for p in crew.packers)
    ]
    pinned = chance.choice(able) if able and chance.random() < 0.08 else None
    setup, finish = chance.randint(20, 45) * MIN_S, chance.randint(15, 30) * MIN_S
    bound = cure + int(cure * case.cure_margin)
    return PlannedRepair(
        ref,
        place,
        setup,
        cure,
        bound,
        finish,
        _windows(chance, case, setup + bound + finish if case.starts_inside else 0),
        chance.choices([Priority.A, Priority.B, Priority.C], [15, 35, 50])[0],
        chance.randint(0, case.days),
        needs,
        size,
        1.0,
        KIT,
        1,
        pinned,
    )


def _windows(chance: Random, case: Case, longer_s: int) -> tuple[Window, ...]:
    """Return the windows of a repair, each longer by what may go on after it."""
    hours = chance.choices(
        [[(0, 24)], [(9, 14)], [(6, 9.5)], [(7, 11), (13, 17)]], [40, 25, 15, 20]
    )[0]
    days = list(range(case.working_days))
    if chance.random() < 0.3 and len(days) > 1:
        days = sorted(chance.sample(days, k=max(1, len(days) * 2 // 3)))
    return tuple(
        Window(day * DAY_S + int(opens * HOUR_S), day * DAY_S + int(closes * HOUR_S) + longer_s)
        for day in days
        for opens, closes in hours
    )


def _place(chance: Random, case: Case, near: float) -> LatLon:
    half = case.half_degrees * near
    return LatLon(chance.uniform(-half, half), chance.uniform(-half, half))


def held(problem: Problem, plan: Plan) -> Checked:
    """Return the plan as checked; it must hold, or there is nothing to measure."""
    checked = check(problem, plan)
    if not isinstance(checked, Checked):
        raise TypeError("; ".join(each.words for each in checked))
    return checked
