"""Takes a few repairs out of a plan and puts them back better, again and again.

It drives every change by the exact clock. So it is slow beside the search of `pyvrp_search`,
and knows what that cannot be told: set-ups beside a cure, lunch, stock over several days.
"""

from random import Random

from dispatch.domain.plan.plan import Checked, Cost, Plan, check, left_out_price_s
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.routes import Routes, WayIn
from dispatch.domain.plan.weights import Priority
from dispatch.planning.budget import Spent

STEPS = 20
"""How many steps of a budget one round counts for: it takes about as long as those of pyvrp."""
MOST_OUT = 10
A_CREW_DAY, EACH_NEAR, BACK_TO_BEST = 0.3, 0.7, 0.01
"""How often a whole crew-day is taken out, how likely each repair nearby is, and how often the
round after goes on from the best plan."""
WORSE = 0.02
"""By how much of its cost a plan may be worse than the best and still be gone on from."""

Seen = dict[tuple[str, tuple[str, ...], str], WayIn | Refusal]


class _Remembering(Routes):
    """Routes that remember where a repair went in best; most rounds ask for the same again."""

    def __init__(self, problem: Problem, plan: Plan, seen: Seen) -> None:
        super().__init__(problem, plan)
        self._seen = seen

    def best_in(self, day: CrewDay, repair: PlannedRepair) -> WayIn | Refusal:
        """Return the remembered place; what is left of the stock is asked each time."""
        if not self.kits_left(day, repair):
            return super().best_in(day, repair)
        stops = self.stops[day.ref]
        key = (day.ref, tuple([each.ref for each in stops]), repair.ref)
        if key not in self._seen:
            self._seen[key] = super().best_in(day, repair)
        return self._seen[key]


def improve(problem: Problem, plan: Plan, spent: Spent, seed: int, until: float = 1.0) -> Plan:
    """Return the best plan found until so much of the budget is used up.

    Never worse than the one it began with. Pinned repairs stay where they are.
    """
    chance = Random(seed)  # noqa: S311 -- the same plan for the same seed, nothing secret
    seen: Seen = {}
    best, best_cost = plan, _cost(problem, plan)
    current, current_cost = best, best_cost
    near = _near(problem)
    while spent.share < until:
        spent.count(STEPS)
        tried = _round(problem, current, chance, near, seen)
        cost = _cost(problem, tried)
        if cost.rank < best_cost.rank:
            best, best_cost = tried, cost
        if _bears(cost, best_cost, current_cost):
            current, current_cost = tried, cost
        if chance.random() < BACK_TO_BEST:
            current, current_cost = best, best_cost
    return best


def _bears(cost: Cost, best: Cost, current: Cost) -> bool:
    """Return whether a plan is good enough to go on from."""
    if cost.rank <= current.rank:
        return True
    return cost.rank[:2] == best.rank[:2] and cost.total_s < best.total_s * (1 + WORSE)


def _round(
    problem: Problem,
    plan: Plan,
    chance: Random,
    near: dict[str, list[str]],
    seen: Seen,
) -> Plan:
    out = _taken_out(problem, plan, chance, near)
    rest = {ref: tuple(each for each in stops if each not in out) for ref, stops in plan.items()}
    if any(_broken(problem, ref, stops) for ref, stops in rest.items() if stops != plan[ref]):
        return plan
    routes = _Remembering(problem, rest, seen)
    waiting = routes.left_out()
    order = {each.ref: _worth(problem, each) * chance.uniform(0.6, 1.4) for each in waiting}
    for repair in sorted(waiting, key=lambda each: (not _first(each), -order[each.ref])):
        ways = [way for way in routes.ways_in(repair) if isinstance(way, WayIn)]
        best = min(ways, key=lambda way: way.more_s * chance.uniform(0.9, 1.1), default=None)
        if best is not None and (_first(repair) or best.more_s < left_out_price_s(problem, repair)):
            routes.put_in(best, repair)
    return routes.plan()


def _taken_out(
    problem: Problem, plan: Plan, chance: Random, near: dict[str, list[str]]
) -> set[str]:
    """Return some repairs that lie close together, or a whole crew-day and its neighbours."""
    done = {each for stops in plan.values() for each in stops if not problem.repair[each].is_pinned}
    if not done:
        return set()
    count = chance.randint(2, MOST_OUT)
    middle = chance.choice(problem.repairs).ref
    if chance.random() < A_CREW_DAY:
        route = chance.choice([stops for stops in plan.values() if stops])
        out = {each for each in route if each in done}
    else:
        out = set()
    for each in near[middle]:
        if len(out) >= count:
            break
        if each in done and chance.random() < EACH_NEAR:
            out.add(each)
    return out


def _near(problem: Problem) -> dict[str, list[str]]:
    """Return for each repair all of them, the nearest first; itself is the first of all."""
    ways = problem.travel.seconds
    return {
        one.ref: [
            other.ref
            for other in sorted(problem.repairs, key=lambda each: ways[one.place][each.place])
        ]
        for one in problem.repairs
    }


def _broken(problem: Problem, ref: str, stops: tuple[str, ...]) -> bool:
    """Return whether a route cannot be driven without those taken out; a detour may be shorter."""
    return not isinstance(check(problem, {ref: stops}), Checked)


def _first(repair: PlannedRepair) -> bool:
    return repair.is_pinned or repair.priority is Priority.A


def _worth(problem: Problem, repair: PlannedRepair) -> float:
    """Return what a repair is worth for the time its hands take."""
    return left_out_price_s(problem, repair) / max(1, repair.setup_s + repair.finish_s)


def _cost(problem: Problem, plan: Plan) -> Cost:
    checked = check(problem, plan)
    if not isinstance(checked, Checked):
        raise TypeError("; ".join(each.words for each in checked))
    return checked.cost
