"""Makes a plan lawful again with as little change as possible, and fills what is free."""

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Plan, left_out_price_s
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.routes import Routes, WayIn
from dispatch.domain.plan.weights import Priority


def mend(problem: Problem, plan: Plan) -> Plan:
    """Return the plan with everything out that cannot be, and what was left out put in.

    Yesterday's plan and the engine's both come through here: what is no longer known,
    no longer fits or no longer can be driven leaves its crew-day, the cheapest first.
    """
    routes = Routes(problem)
    seen: set[str] = set()
    for ref, repairs in plan.items():
        day = problem.crew_day.get(ref)
        if day is None:
            continue
        fresh = dict.fromkeys(each for each in repairs if each in problem.repair)
        stops = [problem.repair[each] for each in fresh if each not in seen]
        kept = _driveable(routes, day, [stop for stop in stops if misfit(day, stop) is None])
        seen.update(stop.ref for stop in kept)
        routes.put(ref, kept)
    fill(routes)
    return routes.plan()


def fill(routes: Routes) -> None:
    """Put in what is left out where it pays: pinned and A first, also instead of lower ones."""
    problem = routes.problem
    for repair in sorted(routes.left_out(), key=lambda each: _order(problem, each)):
        found = [way for way in routes.ways_in(repair) if isinstance(way, WayIn)]
        best = min(found, key=lambda way: way.more_s, default=None)
        if best is not None and _pays(problem, repair, best):
            routes.put_in(best, repair)
        elif best is None and (repair.is_pinned or repair.priority is Priority.A):
            _put_in_instead(routes, repair)


def _put_in_instead(routes: Routes, repair: PlannedRepair) -> None:
    """Give a repair that matters most the place of a lower one, and that one another place."""
    problem = routes.problem
    ways = [way for day in problem.crew_days for way in routes.instead(day, repair)]

    def price(way: WayIn) -> int:
        return way.more_s + left_out_price_s(problem, problem.repair[str(way.instead_of)])

    best = min(ways, key=price, default=None)
    if best is None:
        return
    routes.put_in(best, repair)
    leaves = problem.repair[str(best.instead_of)]
    found = [way for way in routes.ways_in(leaves) if isinstance(way, WayIn)]
    again = min(found, key=lambda way: way.more_s, default=None)
    if again is not None:
        routes.put_in(again, leaves)


def _pays(problem: Problem, repair: PlannedRepair, way: WayIn) -> bool:
    """Return whether it does; priority A is put in whatever it costs."""
    if repair.is_pinned or repair.priority is Priority.A:
        return True
    return way.more_s < left_out_price_s(problem, repair)


def _order(problem: Problem, repair: PlannedRepair) -> tuple[bool, str, int, str]:
    due = problem.days if repair.due_day is None else repair.due_day
    return (not repair.is_pinned, repair.priority, due, repair.ref)


def _driveable(routes: Routes, day: CrewDay, stops: list[PlannedRepair]) -> list[PlannedRepair]:
    """Return the stops without those that must leave, the least dear first."""
    problem = routes.problem
    kept: list[PlannedRepair] = []
    left = dict.fromkeys((stop.kit_code for stop in stops), 0)
    for stop in stops:  # what the crew's stock over all days still gives
        wanted = left[stop.kit_code] + stop.kits_needed
        most = problem.stock.get((day.crew, stop.kit_code))
        if most is None or routes.used(day.crew, stop.kit_code) + wanted <= most:
            left[stop.kit_code] = wanted
            kept.append(stop)
    while kept and isinstance(drive(problem.travel, day, kept), Refusal):
        without = [[each for each in kept if each is not stop] for stop in kept]
        saves = [not isinstance(drive(problem.travel, day, rest), Refusal) for rest in without]
        choice = min(
            range(len(kept)),
            key=lambda i: (not saves[i], left_out_price_s(problem, kept[i]), -i),
        )
        kept = without[choice]
    return kept
