"""Plans by a simple rule: one to fall back on in any case, one to be compared with."""

from collections.abc import Callable
from dataclasses import replace
from heapq import heapify, heappop, heappush

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

    What a person does who looks at the map and at nothing else, and fills one truck after the
    other. A measure for the figures in docs/planning.md, never a plan to publish.
    """
    in_time = tuple(replace(day, overtime_s=0) for day in problem.crew_days)
    return _one_after_the_other(problem, _by_nearness, in_time).plan()


def nearest_as_free(problem: Problem) -> Plan:
    """Return a plan in which all crews go out, and whoever is free first takes the nearest.

    What happens on a day that nobody planned: each crew asks what is near when it is done.
    Without overtime, as `nearest`; the other measure in docs/planning.md.
    """
    in_time = tuple(replace(day, overtime_s=0) for day in problem.crew_days)
    routes = Routes(problem)
    waiting = {each.ref: each for each in problem.repairs}
    for number in sorted({day.day for day in in_time}):
        out = [(day.starts_s, day.ref) for day in in_time if day.day == number]
        heapify(out)
        of = {day.ref: day for day in in_time}
        while out:
            _, ref = heappop(out)
            fits = {r: each for r, each in waiting.items() if misfit(of[ref], each) is None}
            chosen = _next(routes, of[ref], fits, _by_nearness)
            if chosen is None:
                continue  # home for today
            routes.put(ref, [*routes.stops[ref], chosen])
            del waiting[chosen.ref]
            driven = drive(problem.travel, of[ref], routes.stops[ref])
            if not isinstance(driven, Refusal):
                heappush(out, (driven.starts_s[-1] + chosen.on_site_s, ref))
    return routes.plan()


def _by_nearness(repair: PlannedRepair, way_s: int) -> tuple[object, ...]:
    return (way_s, repair.ref)


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
