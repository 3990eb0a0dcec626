"""What a crew loads in the morning: kits by lot, the earliest expiry first, and which packers."""

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import Problem


@dataclass(frozen=True, slots=True)
class LotLeft:
    """Kits of one lot that may be loaded; `last_day` is the last day it may be used on."""

    lot: str
    kit_code: str
    last_day: int
    count: int


@dataclass(frozen=True, slots=True)
class Load:
    """So many kits of a lot onto one truck on one morning; lot None: there are not enough."""

    crew_day: str
    kit_code: str
    lot: str | None
    count: int


def load_out(problem: Problem, plan: Plan, lots: Sequence[LotLeft]) -> tuple[Load, ...]:
    """Return what each truck loads, day by day, so that what expires first is used first.

    What is missing is told as a load without a lot: somebody must order it.
    """
    left = {each.lot: each.count for each in lots}
    by_expiry = sorted(lots, key=lambda each: (each.last_day, each.lot))
    found = []
    for day in sorted(problem.crew_days, key=lambda each: (each.day, each.ref)):
        wanted: dict[str, int] = {}
        for ref in plan.get(day.ref, ()):
            repair = problem.repair[ref]
            wanted[repair.kit_code] = wanted.get(repair.kit_code, 0) + repair.kits_needed
        for code, needed in sorted(wanted.items()):
            missing = needed
            for each in by_expiry:
                taken = min(missing, left[each.lot])
                if each.kit_code == code and each.last_day >= day.day and taken > 0:
                    left[each.lot] -= taken
                    missing -= taken
                    found.append(Load(day.ref, code, each.lot, taken))
            if missing:
                found.append(Load(day.ref, code, None, missing))
    return tuple(found)
