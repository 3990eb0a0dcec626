"""How good the plans are: public instances, an oracle, invented weeks, and quick reasons."""

import argparse
import csv
import statistics
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from benchmarks.planning_cases import KINDS, Case, held, make
from benchmarks.planning_overlap import overlap
from benchmarks.planning_replan import replan
from benchmarks.planning_solomon import read_problem
from dispatch.domain.plan.explain import explain_in
from dispatch.domain.plan.greedy import greedy, nearest, nearest_as_free
from dispatch.domain.plan.plan import Checked, Plan
from dispatch.domain.plan.problem import Problem
from dispatch.domain.plan.routes import Routes
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine
from tests.dispatch.plan_oracle import cheapest_total_s

DATA = Path(__file__).parent / "data"
INSTANCES = ("C104", "R112", "RC108", "R208")
TEACHES = """\
Every plan is checked by our own checker; budgets are seconds of processor time of one thread,
since a shared machine makes the wall say little.

  solomon   four public instances (benchmarks/data/SOURCES.md) by the very same path as a
            dispatcher's plan: gap to the best known distance, median of the seeds
  oracle    fifty tiny cases against trying everything
  day       12 crews, 80 repairs, 3 days, against the rules 'nearest' (truck after truck),
            'as free' (whoever is free takes the nearest) and 'priority first':
            a load that fits, since a window holds the start only and no cure takes longer
            than expected
  tight     the same, with all of the work inside its window and a tenth kept free for each cure
  week      40 crews, 400 repairs, 7 days of which 5 are worked
  overload  6 crews for 80 repairs: is priority A served as well as by any simple rule?
  replan    second morning of 'day': the busiest crew is lost, five urgent repairs come
  replan_tight  the same of 'tight'
  overlap   one overloaded day, the next repair set up in a cure: without, with, and by an exact
            model that needs OR-Tools (the budget is the exact model's; ours has 10 s)
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
                held(planned.problem, planned.best.plan)
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
        held(planned.problem, planned.best.plan)
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
    held(planned.problem, planned.best.plan)
    able = planned.problem
    yield f"{title}: first checked plan after {firsts[0]:.2f} CPU-s, all {planned.cpu_s:.1f} CPU-s"
    yield f"  {len(planned.refused)} refused; the best is by {planned.method}"
    rules = {"nearest": held(able, nearest(able)), "as free": held(able, nearest_as_free(able))}
    for name, each in (
        *rules.items(),
        ("priority", held(able, greedy(able))),
        ("best", planned.best),
    ):
        yield f"  {name:9}{_figures(able, each)}"
    for name, each in rules.items():
        less = 100 * (planned.best.cost.travel_s / max(1, each.cost.travel_s) - 1)
        per = [one.cost.travel_s / max(1, _done(able, one)) / 60 for one in (each, planned.best)]
        a_repair = f"{per[0]:.1f} -> {per[1]:.1f} min"
        yield f"  driving against {name!r} {less:+.0f} % in all; a repair {a_repair}"


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


def explain(seeds: list[int], _budgets: list[float]) -> Iterator[str]:
    """Tell how long the reasons of one repair take, and whether each has one."""
    problem = make(replace(KINDS["week"][0], repairs=700), min(seeds))
    checked = held(problem, greedy(problem))
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


PARTS: dict[str, Callable[[list[int], list[float]], Iterable[str]]] = {
    "solomon": solomon,
    "oracle": oracle,
    **{kind: trade(kind) for kind in KINDS},
    "replan": replan("day"),
    "replan_tight": replan("tight"),
    "overlap": overlap,
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
    own = {
        "solomon": [10.0, 30.0],
        "oracle": [1.0],
        "replan": [4.0],
        "replan_tight": [4.0],
        "overlap": [60.0],
    }
    for part in asked.parts:
        for line in PARTS[part](asked.seeds, asked.cpu_s or own.get(part, [])):
            sys.stdout.write(line + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
