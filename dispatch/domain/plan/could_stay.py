"""Which stops of a broken route could have stayed: the others had to leave it."""

from collections.abc import Iterable, Sequence
from itertools import combinations

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive


def could_stay(problem: Problem, before: Plan, after: Plan, ref: str) -> frozenset[str]:
    """Return the most stops of an old route that its crew-day still holds together.

    Those that did stay are among them, since somebody had a reason. Of sets of the same
    size the one that is earlier in the old order counts. What came in anew is not looked at:
    that it was given the place was a choice.
    """
    day = problem.crew_day[ref]
    known = [problem.repair[each] for each in before[ref] if each in problem.repair]
    old = [each for each in known if misfit(day, each) is None]
    stayed = [problem.repair[each] for each in after.get(ref, ()) if each in before[ref]]
    left = [each for each in old if each not in stayed]
    for size in range(len(left), -1, -1):
        for some in combinations(left, size):
            together = [each for each in old if each in stayed or each in some]
            if _drives(problem, day, together) or _goes_in(problem, day, stayed, some):
                return frozenset(each.ref for each in together)
    return frozenset(each.ref for each in stayed)


def _goes_in(
    problem: Problem, day: CrewDay, stayed: Sequence[PlannedRepair], some: Iterable[PlannedRepair]
) -> bool:
    """Return whether stops go into the order of today one by one, wherever there is room."""
    route = list(stayed)
    for each in some:
        orders = ([*route[:at], each, *route[at:]] for at in range(len(route) + 1))
        fits = next((order for order in orders if _drives(problem, day, order)), None)
        if fits is None:
            return False
        route = fits
    return True


def _drives(problem: Problem, day: CrewDay, stops: Sequence[PlannedRepair]) -> bool:
    return not isinstance(drive(problem.travel, day, stops), Refusal)
