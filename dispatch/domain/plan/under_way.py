"""What is left to plan when the day has begun: whoever is at work stays, and goes on from there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from dispatch.domain.plan.problem import CrewDay, Problem


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A repair that a crew has begun: no plan moves it, however long it takes.

    Parameters
    ----------
    free_at_s : int
        When the crew will have taken down, as far as is known now.
    """

    crew_day: str
    repair: str
    free_at_s: int


def from_now(problem: Problem, under_way: Sequence[UnderWay], now_s: int) -> Problem:
    """Return the problem that is left: nobody begins before now, nothing begun is moved.

    A crew at work goes on from its site when it is free, with the kits that are left; one with
    two live packers from the site that it is done with last.
    Crew-days that are over are gone. Overtime that a crew has already counts no more: only
    what a plan still decides has a price.
    """
    begun = {each.repair for each in under_way}
    at_work: dict[str, list[UnderWay]] = {}
    for each in sorted(under_way, key=lambda each: each.free_at_s):
        at_work.setdefault(each.crew_day, []).append(each)
    days = (_left(problem, day, at_work.get(day.ref, []), now_s) for day in problem.crew_days)
    return replace(
        problem,
        crew_days=tuple(day for day in days if day.last_back_s > day.starts_s),
        repairs=tuple(each for each in problem.repairs if each.ref not in begun),
        promised={ref: each for ref, each in problem.promised.items() if ref not in begun},
        stock=_stock(problem, under_way),
    )


def _left(problem: Problem, day: CrewDay, work: list[UnderWay], now_s: int) -> CrewDay:
    last = day.last_back_s
    starts = max(day.starts_s, now_s, *(each.free_at_s for each in work))
    ends = max(day.ends_s, starts)
    left = replace(day, starts_s=starts, ends_s=ends, overtime_s=max(0, last - ends))
    if last <= starts:  # over: not a minute of it is left
        return replace(left, ends_s=starts, overtime_s=0)
    if not work:
        return left
    kits = dict(day.kits)
    for repair in (problem.repair[each.repair] for each in work):
        kits[repair.kit_code] = max(0, kits.get(repair.kit_code, 0) - repair.kits_needed)
    return replace(left, start_place=problem.repair[work[-1].repair].place, kits=kits)


def _stock(problem: Problem, under_way: Sequence[UnderWay]) -> dict[tuple[str, str], int]:
    stock = dict(problem.stock)
    for each in under_way:
        repair = problem.repair[each.repair]
        key = (problem.crew_day[each.crew_day].crew, repair.kit_code)
        if key in stock:
            stock[key] = max(0, stock[key] - repair.kits_needed)
    return stock
