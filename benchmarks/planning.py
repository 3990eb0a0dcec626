"""How good the plans are: public instances, an oracle, invented weeks, and quick reasons."""

import argparse
import csv
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from benchmarks.planning_cases import Case, make
from benchmarks.planning_solomon import read_problem
from dispatch.domain.plan.difference import differences
from dispatch.domain.plan.explain import explain_in
from dispatch.domain.plan.greedy import greedy, nearest
from dispatch.domain.plan.plan import Checked, Plan, check
from dispatch.domain.plan.problem import Problem, Promise, Window
from dispatch.domain.plan.routes import Routes
from dispatch.domain.plan.weights import Priority
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine, Planned
from tests.dispatch.plan_oracle import cheapest_total_s

DATA = Path(__file__).parent / "data"
INSTANCES = ("C104", "R112", "RC108", "R208")
KINDS = {
    "day": (Case(12, 80, 3, 3), 10.0),
    "week": (Case(40, 400, 7, 5), 30.0),
    "overload": (Case(6, 80, 3, 3), 10.0),
}
TEACHES = """\
Every plan is checked by our own checker; budgets are seconds of processor time of one thread,
since a shared machine makes the wall say little.

  solomon   four public instances (benchmarks/data/SOURCES.md) by the very same path as a
            dispatcher's plan: gap to the best known distance, median of the seeds
  oracle    fifty tiny cases against trying everything
  day       12 crews, 80 repairs, 3 days, against the rule 'nearest first' and 'priority first'
  week      40 crews, 400 repairs, 7 days of which 5 are worked
  overload  6 crews for 80 repairs: is priority A served as well as by any simple rule?
  replan    second morning of 'day': the busiest crew is lost, five urgent repairs come
  explain   how long the reasons of one repair take at 200 crew-days

Examples:
  .venv/bin/python -m benchmarks.planning oracle explain
  .venv/bin/python -m benchmarks.planning solomon --cpu-s 10 30 --seeds 1 2 3
  .venv/bin/python -m benchmarks.planning day week --seeds 101 102
"""


def solomon(seeds: list[int], budgets: list[float]) -> Iterator[str]:
    """Tell the gap to the best known distance."""
    with (DATA / "best_known.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["instance"]: row for row in csv.DictReader(file)}
    for cpu_s in budgets:
        gaps = []
        for name in INSTANCES:
            best = round(float(rows[name]["distance_trunc_1_decimal"]) * 10)
            problem = read_problem(DATA / f"{name}.vrptw")
            found = []
            for seed in seeds:
                planned = PlanEngine().solve(problem, Budget(cpu_s=cpu_s), seed)
                _must_hold(planned)
                if planned.best.left_out:
                    raise ValueError(f"{name}: {len(planned.best.left_out)} left out")
                found.append(100 * (planned.best.cost.total_s / best - 1))
            gaps.append(statistics.median(found))
            each = " ".join(f"{gap:+.2f}" for gap in found)
            yield f"{name} at {cpu_s:g} CPU-s: median {gaps[-1]:+.2f} % (seeds: {each})"
        yield f"mean of the medians at {cpu_s:g} CPU-s: {statistics.mean(gaps):+.2f} %"


def oracle(seeds: list[int], budgets: list[float]) -> Iterator[str]:
    """Tell how often a second of search finds what trying everything finds."""
    equal, worst, better = 0, 0.0, 0
    first, cpu_s, cases = min(seeds), min(budgets, default=1.0), 50
    for seed in range(first, first + cases):
        problem = make(Case(2 + seed % 3, 8, 1 + seed % 2, 1 + seed % 2), seed)
        problem = replace(problem, crew_days=problem.crew_days[:4])
        planned = PlanEngine().solve(problem, Budget(cpu_s=cpu_s), seed)
        _must_hold(planned)
        least = cheapest_total_s(planned.problem)
        total = planned.best.cost.total_s
        equal += total == least
        better += total < least
        worst = max(worst, 100 * (total / max(least, 1) - 1))
    yield f"{cases} tiny cases at {cpu_s:g} CPU-s: equal in {equal}, worst {worst:+.2f} %"
    yield f"  better in {better}: each would be a fault of the checker"


def trade(kind: str) -> Callable[[list[int], list[float]], Iterator[str]]:
    """Return the comparison of one size with the simple rules."""
    case, usual_s = KINDS[kind]

    def run(seeds: list[int], budgets: list[float]) -> Iterator[str]:
        for seed in seeds:
            problem = make(case, seed)
            for cpu_s in budgets or [usual_s]:
                yield from _compare(f"{kind} seed {seed}, {cpu_s:g} CPU-s", problem, cpu_s, seed)

    return run


def _compare(title: str, problem: Problem, cpu_s: float, seed: int) -> Iterator[str]:
    began = time.thread_time()
    firsts: list[float] = []
    planned = PlanEngine().solve(
        problem,
        Budget(cpu_s=cpu_s),
        seed,
        on_first=lambda _: firsts.append(time.thread_time() - began),
    )
    _must_hold(planned)
    able = planned.problem
    yield f"{title}: first checked plan after {firsts[0]:.2f} CPU-s, all {planned.cpu_s:.1f} CPU-s"
    yield f"  {len(planned.refused)} refused; the best is by {planned.method}"
    by_nearness = _checked(able, nearest(able))
    for name, each in (
        ("nearest", by_nearness),
        ("priority", _checked(able, greedy(able))),
        ("best", planned.best),
    ):
        yield f"  {name:9}{_figures(able, each)}"
    less = 100 * (planned.best.cost.travel_s / max(1, by_nearness.cost.travel_s) - 1)
    per = [each.cost.travel_s / max(1, _done(able, each)) for each in (by_nearness, planned.best)]
    a_repair = f"{per[0] / 60:.1f} -> {per[1] / 60:.1f} min"
    yield f"  driving against nearest first {less:+.0f} % in all; a repair {a_repair}"


def _figures(problem: Problem, checked: Checked) -> str:
    done = _done(problem, checked)
    on_time = done - sum(_late(problem, checked.plan))
    cost, some = checked.cost, max(1, len(problem.repairs))
    a = sum(each.priority == "A" for each in problem.repairs)
    return (
        f"served {done}/{len(problem.repairs)}, on time {on_time} ({100 * on_time / some:.0f} %), "
        f"A {a - cost.left_out_a}/{a}, driving {cost.travel_s // 60} min, overtime "
        f"{cost.overtime_s // 60} min, {len(checked.timelines)} crew-days, "
        f"cost {cost.total_s // 60} min"
    )


def _late(problem: Problem, plan: Plan) -> Iterator[bool]:
    for ref, repairs in plan.items():
        for each in repairs:
            due = problem.repair[each].due_day
            yield due is not None and problem.crew_day[ref].day > due


def _done(problem: Problem, checked: Checked) -> int:
    return len(problem.repairs) - len(checked.left_out)


def replan(seeds: list[int], budgets: list[float]) -> Iterator[str]:
    """Tell what the loss of the busiest crew and five urgent repairs change on the second day."""
    for seed in seeds:
        for cpu_s in budgets:
            problem = make(KINDS["day"][0], seed)
            before = PlanEngine().solve(problem, Budget(cpu_s=10.0), seed)
            yield f"replan seed {seed}, {cpu_s:g} CPU-s: {_replanned(before, cpu_s, seed)}"


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
    _must_hold(after)
    held = _checked(before.problem, before.plan)
    chosen = [
        each
        for each in differences(after.problem, held, after.best)
        if each.kind in {"moved", "left_out"} and not each.forced
    ]
    plain = _checked(replace(after.problem, promised={}), after.best.plan)
    more = 100 * (plain.cost.total_s / scratch.best.cost.total_s - 1)
    promised = len(now.promised)
    return (
        f"{len(chosen)} of {promised} promises changed unforced "
        f"({100 * len(chosen) / promised:.0f} %), cost {more:+.1f} % of from scratch, "
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


def explain(seeds: list[int], _budgets: list[float]) -> Iterator[str]:
    """Tell how long the reasons of one repair take, and whether each has one."""
    problem = make(replace(KINDS["week"][0], repairs=700), min(seeds))
    checked = _checked(problem, greedy(problem))
    routes = Routes(problem, checked.plan)
    times, silent = [], 0
    for ref in checked.left_out:
        began = time.thread_time()
        reasons = explain_in(routes, problem.repair[ref])
        times.append(1000 * (time.thread_time() - began))
        silent += sum(reasons.counted.values()) != len(problem.crew_days)
    if not times:
        yield "explain: nothing was left out, so nothing was measured"
        return
    yield (
        f"explain: {len(times)} left out at {len(problem.crew_days)} crew-days, median "
        f"{statistics.median(times):.1f} ms, longest {max(times):.1f} ms, without a reason {silent}"
    )


def _must_hold(planned: Planned) -> None:
    _checked(planned.problem, planned.best.plan)


def _checked(problem: Problem, plan: Plan) -> Checked:
    checked = check(problem, plan)
    if not isinstance(checked, Checked):
        raise TypeError("; ".join(each.words for each in checked))
    return checked


PARTS: dict[str, Callable[[list[int], list[float]], Iterable[str]]] = {
    "solomon": solomon,
    "oracle": oracle,
    **{kind: trade(kind) for kind in KINDS},
    "replan": replan,
    "explain": explain,
}


def main() -> None:
    """Run the parts that are named and tell each figure as it comes."""
    parser = argparse.ArgumentParser(
        description=__doc__, epilog=TEACHES, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("parts", nargs="+", choices=PARTS, help="what to measure")
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3], help="default: 1 2 3")
    parser.add_argument(
        "--cpu-s", nargs="+", type=float, default=[], help="budgets in CPU-s, else each part's own"
    )
    asked = parser.parse_args()
    own = {"solomon": [10.0, 30.0], "oracle": [1.0], "replan": [4.0]}
    for part in asked.parts:
        for line in PARTS[part](asked.seeds, asked.cpu_s or own.get(part, [])):
            sys.stdout.write(line + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
