"""A plan, its checker, and what it costs."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.timeline import Timeline, simulate
from dispatch.domain.plan.weights import Priority

Plan = Mapping[str, tuple[str, ...]]
"""Crew-day to its repairs in their order; a crew-day that is missing stays in the yard."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a plan costs, in seconds of driving, and what it leaves out."""

    travel_s: int
    overtime_s: int
    late_days: int
    changes: int
    left_out: int
    left_out_pinned: int
    left_out_a: int
    total_s: int

    @property
    def rank(self) -> tuple[int, int, int]:
        """Return what plans are compared by: pinned first, then priority A, then the sum.

        No saving on anything else buys leaving out one repair of priority A more.
        """
        return (self.left_out_pinned, self.left_out_a, self.total_s)


@dataclass(frozen=True, slots=True)
class Checked:
    """A plan that can be done: its timelines, its cost, and what it leaves out."""

    plan: Plan
    timelines: tuple[Timeline, ...]
    left_out: tuple[str, ...]
    cost: Cost


def check(problem: Problem, plan: Plan) -> Checked | tuple[Refusal, ...]:
    """Return the plan with its timelines and cost, or everything that is wrong with it."""
    faults = [*_strangers(problem, plan), *_twice(plan)]
    if faults:
        return tuple(faults)
    timelines = []
    for ref, repairs in plan.items():
        day, stops = problem.crew_day[ref], [problem.repair[each] for each in repairs]
        faults.extend(found for stop in stops if (found := misfit(day, stop)) is not None)
        timeline = simulate(problem.travel, day, stops)
        if isinstance(timeline, Refusal):
            faults.append(timeline)
        elif stops:
            timelines.append(timeline)
    faults.extend(over_stock(problem, plan))
    if faults:
        return tuple(faults)
    done = {each for repairs in plan.values() for each in repairs}
    left_out = tuple(each.ref for each in problem.repairs if each.ref not in done)
    return Checked(plan, tuple(timelines), left_out, _cost(problem, plan, timelines, left_out))


def over_stock(problem: Problem, plan: Plan) -> tuple[Refusal, ...]:
    """Return where a crew's days together take more kits than the crew has."""
    used: dict[tuple[str, str], int] = {}
    faults = []
    for ref, repairs in plan.items():
        for each in repairs:
            repair = problem.repair[each]
            key = (problem.crew_day[ref].crew, repair.kit_code)
            used[key] = used.get(key, 0) + repair.kits_needed
            most = problem.stock.get(key)
            if most is not None and repair.kits_needed and used[key] > most:
                words = f"crew {key[0]} has {most} of {key[1]}, its days together need {used[key]}"
                faults.append(Refusal("stock_used_up", each, words))
    return tuple(faults)


def stop_price_s(problem: Problem, day: CrewDay, repair: PlannedRepair) -> int:
    """Return what doing a repair on a crew-day costs besides the way: lateness and changes."""
    price = problem.weights.late_day_s * late_days(repair, day.day)
    return price + problem.weights.change_s * _changes(problem, day, repair)


def left_out_price_s(problem: Problem, repair: PlannedRepair) -> int:
    """Return what leaving a repair out costs: its priority, lateness and broken promise."""
    price = problem.weights.left_out_s(repair.priority, pinned=repair.is_pinned)
    price += problem.weights.late_day_s * late_days(repair, problem.days)
    return price + 2 * problem.weights.change_s * (repair.ref in problem.promised)


def late_days(repair: PlannedRepair, day: int) -> int:
    """Return how many days after its due day a repair is done."""
    return 0 if repair.due_day is None else max(0, day - repair.due_day)


def _changes(problem: Problem, day: CrewDay, repair: PlannedRepair) -> int:
    promise = problem.promised.get(repair.ref)
    return 0 if promise is None else (promise.crew != day.crew) + (promise.day != day.day)


def _cost(
    problem: Problem, plan: Plan, timelines: Iterable[Timeline], left_out: Sequence[str]
) -> Cost:
    driven = list(timelines)
    travel = sum(each.travel_s for each in driven)
    overtime = sum(each.overtime_s for each in driven)
    stops = [(problem.crew_day[ref], problem.repair[r]) for ref, rs in plan.items() for r in rs]
    missing = [problem.repair[ref] for ref in left_out]
    total = travel + problem.weights.overtime_times * overtime
    total += sum(stop_price_s(problem, day, repair) for day, repair in stops)
    total += sum(left_out_price_s(problem, repair) for repair in missing)
    return Cost(
        travel,
        overtime,
        sum(late_days(repair, day.day) for day, repair in stops),
        sum(_changes(problem, day, repair) for day, repair in stops),
        len(missing),
        sum(each.is_pinned for each in missing),
        sum(each.priority is Priority.A for each in missing),
        total,
    )


def _strangers(problem: Problem, plan: Plan) -> Iterable[Refusal]:
    for ref, repairs in plan.items():
        if ref not in problem.crew_day:
            yield Refusal("crew_day_unknown", "", f"there is no crew-day {ref}")
        for each in repairs:
            if each not in problem.repair:
                yield Refusal("repair_unknown", each, f"there is no repair {each} to plan")


def _twice(plan: Plan) -> Iterable[Refusal]:
    seen: dict[str, str] = {}
    for ref, repairs in plan.items():
        for each in repairs:
            if each in seen:
                yield Refusal("planned_twice", each, f"is in {seen[each]} and in {ref}")
            seen[each] = ref
