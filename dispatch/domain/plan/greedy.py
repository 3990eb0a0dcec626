"""Plans by a simple rule: one to fall back on in any case, one to be compared with."""

from collections.abc import Callable
from dataclasses import replace

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.mend import fill
from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.routes import Routes

Choice = Callable[[PlannedRepair, int], tuple[object, ...]]
"""Sorts what a crew may do next, by the repair and the seconds to it; the least is first."""


def greedy(problem: Problem) -> Plan:
    """Return a plan by priority, then nearness; then each repair left out goes in where it can."""

    def by_priority(repair: PlannedRepair, way_s: int) -> tuple[object, ...]:
        due = problem.days if repair.due_day is None else repair.due_day
        return (not repair.is_pinned, repair.priority, max(due, -1), way_s, repair.ref)

    routes = _one_after_the_other(problem, by_priority, problem.crew_days)
    fill(routes)
    return routes.plan()


def nearest(problem: Problem) -> Plan:
    """Return a plan in which each crew takes the nearest repair it may do, without overtime.

    What a person does who looks at the map and at nothing else. The measure for the
    figures in docs/planning.md, never a plan to publish.
    """

    def by_nearness(repair: PlannedRepair, way_s: int) -> tuple[object, ...]:
        return (way_s, repair.ref)

    in_time = tuple(replace(day, overtime_s=0) for day in problem.crew_days)
    return _one_after_the_other(problem, by_nearness, in_time).plan()


def _one_after_the_other(problem: Problem, key: Choice, days: tuple[CrewDay, ...]) -> Routes:
    routes = Routes(problem)
    waiting = {each.ref: each for each in problem.repairs}
    for day in sorted(days, key=lambda each: (each.day, each.ref)):
        fits = {ref: each for ref, each in waiting.items() if misfit(day, each) is None}
        while (chosen := _next(routes, day, fits, key)) is not None:
            routes.put(day.ref, [*routes.stops[day.ref], chosen])
            del fits[chosen.ref], waiting[chosen.ref]
    return routes


def _next(
    routes: Routes, day: CrewDay, fits: dict[str, PlannedRepair], key: Choice
) -> PlannedRepair | None:
    travel, stops = routes.problem.travel, routes.stops[day.ref]
    ways = travel.seconds[stops[-1].place if stops else day.start_place]
    for repair in sorted(fits.values(), key=lambda each: key(each, ways[each.place])):
        if not routes.kits_left(day, repair):
            continue
        if not isinstance(drive(travel, day, [*stops, repair]), Refusal):
            return repair
    return None
