"""The search by pyvrp: a problem as its model, its answer as a plan.

Only `searches` imports this module, and only when a search is asked for.

- a crew-day is a vehicle type; crew-days that are the same in everything are one type;
- a repair is one optional client for each alternative, at most one of a group is served;
- who may do what is a travel matrix for each distinct set of repairs, in which the others lie
  ten million seconds away (larger numbers overflow);
- kits are load dimensions; lateness and changed days are in the prizes, changed crews in the
  distances; lunch is not modelled: `mend` sees to it afterwards;
- a set-up beside a cure cannot be told: a crew that may is reckoned with less time on a site
  (`ease`), and `searches` sees what of it can be done.
"""

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
import pyvrp

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import CrewDay, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.planning.alternatives import Alternative, alternatives
from dispatch.planning.budget import Spent

FAR_S = 10**7
PATIENCE = 60
"""How many steps back a new plan is compared with."""
RESTART_AFTER = 1500
"""Steps without a better plan before the search goes back to its best one.

The library's own 300 and 150,000 suit longer searches: within 10 s they came to a stop on small
cases and came less far on large ones (docs/planning.md).
"""

NEIGHBOURS, NEIGHBOURS_OF_FEW, FEW = 50, 150, 600
"""How many clients near a client are tried beside it; where there are few clients and several of
them are the same repair on another day, the library's 50 would be a dozen repairs."""
STALE = 2500
"""Steps without a better plan after which the search begins anew with another seed."""


@dataclass(frozen=True, slots=True)
class _Model:
    """A problem as pyvrp sees it, and how to read its answer."""

    data: pyvrp.ProblemData
    clients: tuple[Alternative, ...]
    types: tuple[tuple[CrewDay, ...], ...]


def search(
    problem: Problem,
    start: Plan,
    spent: Spent,
    seed: int,
    *,
    until: float = 1.0,
    ease: float = 1.0,
) -> Plan | None:
    """Return the best plan found, or None when there is none that pyvrp calls feasible.

    Parameters
    ----------
    until : float
        The share of the budget at which to end.
    ease : float
        How much of its time on a site a crew that may overlap is reckoned with, from 0 to 1.
        Below 1 the plan is a wish: the exact clock says what of it can be done.
    """
    if not problem.crew_days or not problem.repairs:
        return None
    model = _model(problem, ease)
    first = _as_solution(problem, model, start)
    params = _params(problem, model)
    found: list[pyvrp.Result] = []
    while not found or spent.share < until:
        leg = _Leg(spent, until)
        found.append(
            pyvrp.solve(
                model.data,
                stop=leg,
                seed=seed + len(found),
                collect_stats=False,
                params=params,
                initial_solution=first,
            )
        )
    feasible = [each for each in found if each.is_feasible()]
    if not feasible:
        return None
    return _as_plan(model, min(feasible, key=lambda each: each.cost()).best)


@dataclass(slots=True)
class _Leg:
    """One search among several: it ends with the budget, or when it comes no further."""

    spent: Spent
    until: float
    best: int | None = None
    since: int = 0

    def __call__(self, best_cost: int) -> bool:
        """Return whether this search must end."""
        self.since += 1
        if self.best is None or best_cost < self.best:
            self.best, self.since = best_cost, 0
        if self.spent(best_cost) or self.since >= STALE:
            return True
        return self.until < 1 and self.spent.share >= self.until


def _params(problem: Problem, model: _Model) -> pyvrp.SolveParams:
    clients = len(model.clients)
    few = len(problem.repairs) < clients <= FEW
    return pyvrp.SolveParams(
        ils=pyvrp.IteratedLocalSearchParams(
            num_iters_no_improvement=RESTART_AFTER, history_length=PATIENCE
        ),
        neighbourhood=pyvrp.search.NeighbourhoodParams(
            num_neighbours=NEIGHBOURS_OF_FEW if few else NEIGHBOURS
        ),
    )


def _model(problem: Problem, ease: float) -> _Model:
    may = _may(problem)
    clients, groups = _clients(problem, may)
    group_of = {ref: number for number, ref in enumerate(groups)}
    homes = sorted({p for day in problem.crew_days for p in (day.start_place, day.end_place)})
    places = [*homes, *(each.place for each in problem.repairs)]
    depots = [pyvrp.Depot(location=i) for i in range(len(homes))]
    at = {each.ref: len(homes) + i for i, each in enumerate(problem.repairs)}
    codes = sorted({each.kit_code for each in problem.repairs if each.kits_needed})
    seconds = np.array(problem.travel.seconds, dtype=np.int64)[np.ix_(places, places)]
    able_on = {
        day.ref: frozenset(ref for ref, days in may.items() if day.ref in days)
        for day in problem.crew_days
    }
    work = np.array([0] * len(homes) + [each.on_site_s for each in problem.repairs])
    profiles: dict[tuple[frozenset[str], frozenset[str], float], int] = {}
    types: dict[tuple[object, ...], list[CrewDay]] = {}
    for day in problem.crew_days:
        able = able_on[day.ref]
        others = frozenset(
            ref
            for ref in able
            if ref in problem.promised and problem.promised[ref].crew != day.crew
        )
        eased = ease if may_overlap(day) else 1.0
        profile = profiles.setdefault((able, others, eased), len(profiles))
        kits = tuple(day.kits.get(code, 0) for code in codes)
        hours = (day.starts_s, day.ends_s, day.overtime_s)
        ends = (homes.index(day.start_place), homes.index(day.end_place))
        types.setdefault((hours, ends, profile, kits), []).append(day)
    matrices = []
    for able, others, eased in profiles:
        distances, durations = _matrices(problem, seconds, at, able, others)
        durations += (work * eased).astype(np.int64)[:, None]
        np.fill_diagonal(durations, 0)
        matrices.append((distances, durations))
    data = pyvrp.ProblemData(
        [pyvrp.Location(0, 0) for _ in places],
        [_client(problem, each, at, codes, group_of) for each in clients],
        depots,
        [_vehicle(problem, key, days) for key, days in types.items()],
        [distances for distances, _ in matrices],
        [durations for _, durations in matrices],
        [pyvrp.ClientGroup(members, required=False) for members in groups.values()],
    )
    return _Model(data, tuple(clients), tuple(tuple(days) for days in types.values()))


def may_overlap(day: CrewDay) -> bool:
    """Return whether a crew-day may set up a repair beside a cure at all."""
    return day.overlap is not None and day.overlap.is_allowed and len(day.packers) > 1


def _may(problem: Problem) -> dict[str, dict[str, CrewDay]]:
    """Return for each repair the crew-days that may do it; windows are the clients' matter."""
    return {
        repair.ref: {
            day.ref: day
            for day in problem.crew_days
            if (why := misfit(day, repair)) is None or why.code == "no_window_that_day"
        }
        for repair in problem.repairs
    }


def _clients(
    problem: Problem, may: dict[str, dict[str, CrewDay]]
) -> tuple[list[Alternative], dict[str, list[int]]]:
    """Return all alternatives, and for each repair with several the numbers of its own."""
    clients: list[Alternative] = []
    groups: dict[str, list[int]] = {}
    for repair in problem.repairs:
        own = alternatives(problem, repair, may[repair.ref].values())
        if len(own) > 1:
            groups[repair.ref] = list(range(len(clients), len(clients) + len(own)))
        clients.extend(own)
    return clients, groups


def _client(
    problem: Problem,
    each: Alternative,
    at: dict[str, int],
    codes: list[str],
    group_of: dict[str, int],
) -> pyvrp.Client:
    repair = problem.repair[each.repair]
    return pyvrp.Client(
        at[each.repair],
        delivery=[repair.kits_needed if repair.kit_code == code else 0 for code in codes],
        # How long a crew is there depends on the crew: it is part of its way on.
        tw_early=each.early_s,
        tw_late=each.late_s,
        prize=max(0, each.prize_s),
        required=False,
        group=group_of.get(each.repair),
    )


def _vehicle(problem: Problem, key: tuple[object, ...], days: list[CrewDay]) -> pyvrp.VehicleType:
    day = days[0]
    _, ends, profile, kits = cast("tuple[object, tuple[int, int], int, tuple[int, ...]]", key)
    return pyvrp.VehicleType(
        num_available=len(days),
        capacity=list(kits),
        start_depot=ends[0],
        end_depot=ends[1],
        tw_early=day.starts_s,
        tw_late=day.last_back_s,
        start_late=day.starts_s,  # as the simulator: off at the shift's start
        shift_duration=day.ends_s - day.starts_s,
        max_overtime=day.overtime_s,
        unit_overtime_cost=problem.weights.overtime_times,
        profile=profile,
    )


def _matrices(
    problem: Problem,
    seconds: np.ndarray,
    at: dict[str, int],
    able: frozenset[str],
    others: frozenset[str],
) -> tuple[Any, Any]:  # pyvrp's stubs name no array type that NumPy has
    """Return what a way costs and what it takes: a broken promise costs and takes no time."""
    durations = seconds.copy()
    far = [place for ref, place in at.items() if ref not in able]
    durations[far, :] = FAR_S
    durations[:, far] = FAR_S
    np.fill_diagonal(durations, 0)
    distances = durations.copy()
    distances[:, [at[ref] for ref in others]] += problem.weights.change_s
    np.fill_diagonal(distances, 0)
    return distances, durations


def _as_solution(problem: Problem, model: _Model, plan: Plan) -> pyvrp.Solution | None:
    """Return a plan as a start for the search; a stop that no alternative holds is left out."""
    routes = []
    for number, days in enumerate(model.types):
        for day in days:
            stops = [problem.repair[ref] for ref in plan.get(day.ref, ())]
            driven = drive(problem.travel, day, stops)
            if not stops or isinstance(driven, Refusal):
                continue
            visits = [
                client
                for stop, start in zip(stops, driven.starts_s, strict=True)
                if (client := _client_at(model, stop.ref, start)) is not None
            ]
            if visits:
                routes.append(pyvrp.Route(model.data, visits, number))
    return pyvrp.Solution(model.data, routes) if routes else None


def _client_at(model: _Model, ref: str, start_s: int) -> int | None:
    for number, each in enumerate(model.clients):
        if each.repair == ref and each.early_s <= start_s <= each.late_s:
            return number
    return None


def _as_plan(model: _Model, solution: pyvrp.Solution) -> Plan:
    free = [list(days) for days in model.types]
    plan = {}
    for route in solution.routes():
        day = free[route.vehicle_type()].pop(0)
        visits = [each.idx for each in route if each.is_client()]
        plan[day.ref] = tuple(model.clients[number].repair for number in visits)
    return plan
