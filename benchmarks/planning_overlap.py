"""Setting up the next repair in a cure: our plans against an exact model of two visits a repair.

The exact model is one of OR-Tools' routing library: set-up and finish are two visits of one
crew, with the cure between them, packers as capacity, and finishes in the order of set-ups, as
in our own rules. Its plans are checked by our checker.
"""

import time
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from importlib.util import find_spec
from typing import Any, NamedTuple

from benchmarks.planning_cases import Case, held, make
from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Checked, Plan, left_out_price_s
from dispatch.domain.plan.problem import Overlap, PlannedRepair, Problem, Window
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine

MISSING = (
    "the exact model needs OR-Tools, which is no part of this project: "
    "pip install 'ortools==9.15.*' into an environment of its own, with this project's"
)
ALLOWED = Overlap(most_drive_s=15 * 60, most_wait_s=60 * 60)
SIZES = (
    Case(4, 24, 1, 1, lunch=False, overlap=ALLOWED),
    Case(12, 80, 1, 1, lunch=False, overlap=ALLOWED),
)
FAR_S = 10**7
OURS_CPU_S = 10.0


def overlap(seeds: list[int], budgets: list[float]) -> Iterator[str]:
    """Tell how many repairs are served without overlap, with ours, and by the exact model."""
    for case in SIZES:
        for seed in seeds:
            problem = make(case, seed)
            for cpu_s in budgets:
                yield from _compare(problem, seed, cpu_s, f"{case.crews} crews, seed {seed}")


def _compare(problem: Problem, seed: int, cpu_s: float, title: str) -> Iterator[str]:
    alone = tuple(replace(day, overlap=None) for day in problem.crew_days)
    budget = Budget(cpu_s=OURS_CPU_S)
    without = PlanEngine().solve(replace(problem, crew_days=alone), budget, seed)
    ours = PlanEngine().solve(problem, budget, seed)
    yield f"overlap, {title}, ours {OURS_CPU_S:g} CPU-s, exact model {cpu_s:g} CPU-s"
    yield f"  without overlap     {_figures(without.best)}"
    yield f"  ours                {_figures(held(ours.problem, ours.best.plan))}"
    if find_spec("ortools") is None:
        yield f"  {MISSING}"
        return
    for name, start in (("from nothing", None), ("from 'without'", without.best.plan)):
        plan = exact(ours.problem, cpu_s, start)
        yield f"  exact {name:14}{_figures(held(ours.problem, plan))}"


def _figures(checked: Checked) -> str:
    stops = [stop for timeline in checked.timelines for stop in timeline.stops]
    beside = sum(stop.beside is not None for stop in stops)
    return (
        f"served {len(stops)}, {beside} of them beside a cure, A left out "
        f"{checked.cost.left_out_a}, driving {checked.cost.travel_s // 60} min, overtime "
        f"{checked.cost.overtime_s // 60} min, cost {checked.cost.total_s // 60} min"
    )


class _Option(NamedTuple):
    """A repair in one of its windows."""

    repair: PlannedRepair
    window: Window


def exact(problem: Problem, cpu_s: float, start: Plan | None) -> Plan:
    """Return the plan of the exact model after so many seconds of processor time."""
    model = _Exact(problem)
    return model.solved(cpu_s, start)


class _Exact:
    """The model of two visits a repair: node 2n is the set-up of option n, 2n + 1 its finish."""

    def __init__(self, problem: Problem) -> None:
        self.cp: Any = import_module("ortools.constraint_solver.pywrapcp")
        self.problem = problem
        self.options = [
            _Option(each, window) for each in problem.repairs for window in each.windows
        ]
        self.days = problem.crew_days
        nodes = 2 * len(self.options)
        starts = [nodes + 2 * n for n in range(len(self.days))]
        ends = [each + 1 for each in starts]
        count = nodes + 2 * len(self.days)
        self.manager = self.cp.RoutingIndexManager(count, len(self.days), starts, ends)
        self.routing = self.cp.RoutingModel(self.manager)
        self._time()
        self._packers_and_kits()
        self._repairs()

    def _place(self, node: int) -> int:
        if node < 2 * len(self.options):
            return self.options[node // 2].repair.place
        day = self.days[(node - 2 * len(self.options)) // 2]
        return day.start_place if node % 2 == 0 else day.end_place

    def _way_s(self, start: int, end: int) -> int:
        """Return the way; one that leaves a live packer too far behind is none."""
        way = self.problem.travel.seconds[self._place(start)][self._place(end)]
        nodes = 2 * len(self.options)
        if start < nodes and end < nodes and start // 2 != end // 2:
            live = start % 2 == 0  # a set-up, and then another repair's visit
            if live and way > ALLOWED.most_drive_s:
                return FAR_S
        return way

    def _time(self) -> None:
        nodes = range(2 * len(self.options) + 2 * len(self.days))
        ways = [[self._way_s(a, b) for b in nodes] for a in nodes]
        work = [
            each.repair.finish_s if kind else each.repair.setup_s
            for each in self.options
            for kind in (0, 1)
        ] + [0] * (2 * len(self.days))
        to_node = self.manager.IndexToNode
        arc = self.routing.RegisterTransitCallback(lambda a, b: ways[to_node(a)][to_node(b)])
        self.routing.SetArcCostEvaluatorOfAllVehicles(arc)
        lasts = self.routing.RegisterTransitCallback(
            lambda a, b: ways[to_node(a)][to_node(b)] + work[to_node(a)]
        )
        most = max(day.last_back_s for day in self.days)
        self.routing.AddDimension(lasts, most, most, False, "time")
        self.time = self.routing.GetDimensionOrDie("time")
        for n, day in enumerate(self.days):
            begins, ends = self.routing.Start(n), self.routing.End(n)
            self.time.CumulVar(begins).SetRange(day.starts_s, day.starts_s)
            self.time.CumulVar(ends).SetRange(day.starts_s, day.last_back_s)
            times = self.problem.weights.overtime_times
            self.time.SetCumulVarSoftUpperBound(ends, day.ends_s, times)

    def _packers_and_kits(self) -> None:
        to_node, nodes = self.manager.IndexToNode, 2 * len(self.options)

        def live(index: int) -> int:
            node = to_node(index)
            return 0 if node >= nodes else (1 if node % 2 == 0 else -1)

        def kits(index: int) -> int:
            node = to_node(index)
            return (
                self.options[node // 2].repair.kits_needed if node < nodes and not node % 2 else 0
            )

        packers = [min(2, len(day.packers)) for day in self.days]
        carried = [sum(day.kits.values()) for day in self.days]
        for name, weighs, most in (("live", live, packers), ("kits", kits, carried)):
            callback = self.routing.RegisterUnaryTransitCallback(weighs)
            self.routing.AddDimensionWithVehicleCapacity(callback, 0, most, True, name)

    def _repairs(self) -> None:
        routing, solver = self.routing, self.routing.solver()
        of_repair: dict[str, list[int]] = {}
        for n, (repair, window) in enumerate(self.options):
            up, down = (self.manager.NodeToIndex(2 * n + kind) for kind in (0, 1))
            routing.AddPickupAndDelivery(up, down)
            solver.Add(routing.VehicleVar(up) == routing.VehicleVar(down))
            solver.Add(routing.ActiveVar(up) == routing.ActiveVar(down))
            of_repair.setdefault(repair.ref, []).append(up)
            routing.AddDisjunction([down], 0)
            able = [v for v, day in enumerate(self.days) if misfit(day, repair) is None]
            for index in (up, down):
                routing.VehicleVar(index).SetValues([-1, *able])
            begins, ends = self.time.CumulVar(up), self.time.CumulVar(down)
            latest = window.closes_s - repair.finish_s
            begins.SetRange(window.opens_s, max(window.opens_s, latest))
            ends.SetRange(window.opens_s, max(window.opens_s, latest))
            cured = repair.setup_s + repair.cure_bound_s
            solver.Add(ends >= begins + cured)
            solver.Add(ends <= begins + cured + ALLOWED.most_wait_s)
        for ref, ups in of_repair.items():
            routing.AddDisjunction(ups, left_out_price_s(self.problem, self.problem.repair[ref]))
        for v in range(len(self.days)):
            fifo = routing.PICKUP_AND_DELIVERY_FIFO
            routing.SetPickupAndDeliveryPolicyOfVehicle(fifo, v)

    def solved(self, cpu_s: float, start: Plan | None) -> Plan:
        """Return what is found within the time of this process's processor."""
        enums: Any = import_module("ortools.constraint_solver.routing_enums_pb2")
        parameters = self.cp.DefaultRoutingSearchParameters()
        first, meta = enums.FirstSolutionStrategy, enums.LocalSearchMetaheuristic
        parameters.first_solution_strategy = first.PARALLEL_CHEAPEST_INSERTION
        parameters.local_search_metaheuristic = meta.GUIDED_LOCAL_SEARCH
        parameters.time_limit.FromSeconds(int(20 * cpu_s))  # the wall; ours is below
        until = time.process_time() + cpu_s
        self.routing.AddSearchMonitor(
            self.routing.solver().CustomLimit(lambda: time.process_time() > until)
        )
        if start is None:
            solution = self.routing.SolveWithParameters(parameters)
        else:
            self.routing.CloseModelWithParameters(parameters)
            given = self.routing.ReadAssignmentFromRoutes(self._routes(start), True)
            solution = self.routing.SolveFromAssignmentWithParameters(given, parameters)
        return {} if solution is None else self._plan(solution)

    def _routes(self, plan: Plan) -> list[list[int]]:
        """Return a plan without overlap as visits."""
        checked = held(self.problem, plan)
        begins = {s.repair: s.start_s for t in checked.timelines for s in t.stops}

        def visits(ref: str) -> list[int]:
            for n, (repair, window) in enumerate(self.options):
                if repair.ref == ref and window.opens_s <= begins[ref] < window.closes_s:
                    return [2 * n, 2 * n + 1]
            raise ValueError(f"{ref} is in no window of its own")

        return [
            [node for ref in plan.get(day.ref, ()) for node in visits(ref)] for day in self.days
        ]

    def _plan(self, solution: Any) -> Plan:
        plan: dict[str, tuple[str, ...]] = {}
        for v, day in enumerate(self.days):
            index, refs = self.routing.Start(v), []
            while not self.routing.IsEnd(index):
                node = self.manager.IndexToNode(index)
                if node < 2 * len(self.options) and node % 2 == 0:
                    refs.append(self.options[node // 2].repair.ref)
                index = solution.Value(self.routing.NextVar(index))
            if refs:
                plan[day.ref] = tuple(refs)
        return plan
