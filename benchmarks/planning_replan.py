"""The second morning of an invented case: a crew is lost, urgent repairs come."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import NamedTuple

from benchmarks.planning_cases import KINDS, held, make
from dispatch.domain.plan.difference import GAVE_WAY, differences
from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import Problem, Promise, Window
from dispatch.domain.plan.weights import Priority
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine, Planned


def replan(kind: str) -> Callable[[list[int], list[float]], Iterator[str]]:
    """Return what the loss of the busiest crew and five urgent repairs change on the second day."""

    def run(seeds: list[int], budgets: list[float]) -> Iterator[str]:
        for seed in seeds:
            before = PlanEngine().solve(make(KINDS[kind][0], seed), Budget(cpu_s=10.0), seed)
            for cpu_s in budgets:
                told = _replanned(before, cpu_s, seed)
                yield f"replan {kind} seed {seed}, {cpu_s:g} CPU-s: {told}"

    return run


def _replanned(planned: Planned, cpu_s: float, seed: int) -> str:
    before = _without_day_0(planned)
    load = Counter(
        before.problem.crew_day[ref].crew for ref in before.plan for _ in before.plan[ref]
    )
    lost = load.most_common(1)[0][0]
    # Beside what was done on the first day, with the work and the needs it had.
    done = [each for each in planned.problem.repairs if each.ref not in before.problem.repair]
    whole = (Window(0, planned.problem.days * 86_400),)
    fresh = [
        replace(
            each,
            ref=f"URGENT{n}",
            priority=Priority.A,
            due_day=1,
            pinned_crew=None,
            windows=whole,
        )
        for n, each in enumerate(done[:5])
    ]
    kept = tuple(each for each in before.problem.repairs if each.pinned_crew != lost)
    now = replace(
        before.problem,
        crew_days=tuple(day for day in before.problem.crew_days if day.crew != lost),
        repairs=(*kept, *fresh),
        promised={
            ref: Promise(before.problem.crew_day[day].crew, before.problem.crew_day[day].day)
            for day, refs in before.plan.items()
            for ref in refs
        },
    )
    engine, budget = PlanEngine(), Budget(cpu_s=cpu_s)
    after = engine.solve(now, budget, seed, previous=before.plan)
    scratch = engine.solve(replace(now, promised={}), budget, seed)
    held(after.problem, after.best.plan)
    was = held(before.problem, before.plan)
    chosen = [
        each
        for each in differences(after.problem, was, after.best)
        if each.kind in {"moved", "left_out"} and not each.forced
    ]
    plain = held(replace(after.problem, promised={}), after.best.plan)
    more = 100 * (plain.cost.total_s / scratch.best.cost.total_s - 1)
    promised = len(now.promised)
    gave_way = sum(each.cause is not None and each.cause.code == GAVE_WAY for each in chosen)
    return (
        f"{len(chosen)} of {promised} promises changed unforced "
        f"({100 * len(chosen) / promised:.0f} %; {gave_way} gave way), "
        f"cost {more:+.1f} % of from scratch, "
        f"left out {plain.cost.left_out} (scratch {scratch.best.cost.left_out}), "
        f"A left out {plain.cost.left_out_a}"
    )


class _Rest(NamedTuple):
    """What is left on the second morning."""

    problem: Problem
    plan: Plan


def _without_day_0(planned: Planned) -> _Rest:
    problem = planned.problem
    plan = {ref: rs for ref, rs in planned.best.plan.items() if problem.crew_day[ref].day > 0}
    done = {each for ref, rs in planned.best.plan.items() if ref not in plan for each in rs}
    rest = replace(
        problem,
        crew_days=tuple(day for day in problem.crew_days if day.day > 0),
        repairs=tuple(each for each in problem.repairs if each.ref not in done),
    )
    return _Rest(rest, plan)
