"""The best plan of a tiny case by trying everything: the outside judge of every search.

Knows nothing of any search: it drives every order of every set of repairs on every crew-day
and combines the sets. Up to about four crew-days and eight repairs; no stock over several days.
"""

from itertools import permutations

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import left_out_price_s, stop_price_s
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive

MOST_STOPS = 5


def cheapest_total_s(problem: Problem, *, count_only: bool = False) -> int:
    """Return the least cost of any plan; or, to count, the fewest repairs left out."""
    repairs = problem.repairs
    prices = [1 if count_only else left_out_price_s(problem, each) for each in repairs]
    best = {0: 0}
    for day in problem.crew_days:
        routes = _cheapest_routes(problem, day)
        grown = dict(best)
        for done, so_far in best.items():
            for more, price in routes.items():
                if done & more:
                    continue
                total = so_far + (0 if count_only else price)
                if total < grown.get(done | more, total + 1):
                    grown[done | more] = total
        best = grown
    every = range(len(repairs))
    return min(
        total + sum(prices[i] for i in every if not done >> i & 1) for done, total in best.items()
    )


def _cheapest_routes(problem: Problem, day: CrewDay) -> dict[int, int]:
    """Return for each set of repairs, as bits, what its cheapest order costs on this crew-day."""
    numbered = [(i, r) for i, r in enumerate(problem.repairs) if misfit(day, r) is None]
    found: dict[int, int] = {}
    for length in range(1, min(MOST_STOPS, len(numbered)) + 1):
        for order in permutations(numbered, length):
            bits = sum(1 << i for i, _ in order)
            price = _price(problem, day, [each for _, each in order])
            if price is not None and price < found.get(bits, price + 1):
                found[bits] = price
    return found


def _price(problem: Problem, day: CrewDay, stops: list[PlannedRepair]) -> int | None:
    # More work on the sites than the day is long: no need to drive it.
    alone = day.overlap is None
    work = sum(each.on_site_s if alone else each.setup_s + each.finish_s for each in stops)
    if work > day.last_back_s - day.starts_s:
        return None
    driven = drive(problem.travel, day, stops)
    if isinstance(driven, Refusal):
        return None
    price = driven.travel_s + problem.weights.overtime_times * driven.overtime_s
    return price + sum(stop_price_s(problem, day, each) for each in stops)
