"""Why a repair is not in the plan, counted over all crew-days, and the cheapest ways in."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from dispatch.domain.plan.plan import Plan, left_out_price_s
from dispatch.domain.plan.problem import PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.routes import Routes, WayIn

FITS = "fits"
WAYS_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a repair was left out.

    Parameters
    ----------
    counted : mapping
        Reason code to the number of crew-days it holds on; 'fits' where there is room that
        the prices did not take. They add up to the crew-days there are.
    closest : Refusal or None
        Of the reasons of time the one that fails by the least.
    ways_in : tuple of WayIn
        The cheapest three; one that takes another's place costs what that one left out costs.
    """

    repair: str
    counted: Mapping[str, int]
    closest: Refusal | None
    ways_in: tuple[WayIn, ...]

    @property
    def words(self) -> str:
        """Return the reasons as one line, the commonest first."""
        counted = sorted(self.counted.items(), key=lambda each: (-each[1], each[0]))
        return ", ".join(f"{code} {count}" for code, count in counted)


def explain(problem: Problem, plan: Plan, repair: PlannedRepair) -> Explanation:
    """Return why a repair has no place in a plan, and what would give it one."""
    return explain_in(Routes(problem, plan), repair)


def explain_in(routes: Routes, repair: PlannedRepair) -> Explanation:
    """Return the same from routes that are made once for many repairs."""
    problem = routes.problem
    counted: Counter[str] = Counter()
    ways: list[WayIn] = []
    of_time: list[Refusal] = []
    for found in routes.ways_in(repair):
        if isinstance(found, WayIn):
            counted[FITS] += 1
            ways.append(found)
            continue
        counted[found.code] += 1
        if found.short_s > 0:
            of_time.append(found)
    if len(ways) < WAYS_SHOWN:
        for day in problem.crew_days:
            ways.extend(_priced(problem, way) for way in routes.instead(day, repair))
    closest = min(of_time, key=lambda each: each.short_s, default=None)
    cheapest = sorted(ways, key=lambda way: (way.more_s, way.crew_day, way.index))
    return Explanation(repair.ref, dict(counted), closest, tuple(cheapest[:WAYS_SHOWN]))


def _priced(problem: Problem, way: WayIn) -> WayIn:
    leaves = problem.repair[str(way.instead_of)]
    more = way.more_s + left_out_price_s(problem, leaves)
    return WayIn(way.crew_day, way.index, more, way.instead_of)
