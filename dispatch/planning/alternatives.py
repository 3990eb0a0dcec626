"""The choices a repair has: on which days in which windows it may begin, and what each is worth.

An engine that knows one window a visit gets one visit for each choice, of which it may take
at most one. Days that follow each other with the same worth and nothing closed between them
are one choice: the fewer there are the further a search comes.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from dispatch.domain.plan.plan import late_days, left_out_price_s
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem


@dataclass(frozen=True, slots=True)
class Alternative:
    """A time in which a repair may begin, and what doing it then saves over leaving it out."""

    repair: str
    early_s: int
    late_s: int
    prize_s: int


@dataclass(frozen=True, slots=True)
class _Open:
    """An alternative of one day, and whether it reaches to the ends of that day."""

    alternative: Alternative
    day_index: int
    from_the_start: bool
    to_the_end: bool


def alternatives(
    problem: Problem, repair: PlannedRepair, may: Iterable[CrewDay]
) -> tuple[Alternative, ...]:
    """Return the choices of a repair on the crew-days that may do it."""
    spans: dict[int, tuple[int, int]] = {}
    for each in may:
        first, last = spans.get(each.day, (each.starts_s, each.last_back_s))
        spans[each.day] = (min(first, each.starts_s), max(last, each.last_back_s))
    found: list[_Open] = []
    for index, day in enumerate(sorted(spans)):
        prize = _prize(problem, repair, day)
        first, last = spans[day]
        for window in repair.windows:
            early = max(window.opens_s, first)
            late = min(window.closes_s, last) - repair.on_site_s
            if early <= late:
                one = Alternative(repair.ref, early, late, prize)
                opens, closes = window.opens_s <= first, window.closes_s >= last
                found.append(_Open(one, index, opens, closes))
    return tuple(_joined(found))


def _prize(problem: Problem, repair: PlannedRepair, day: int) -> int:
    worth = left_out_price_s(problem, repair)
    worth -= problem.weights.late_day_s * late_days(repair, day)
    promise = problem.promised.get(repair.ref)
    if promise is not None and promise.day != day:
        worth -= problem.weights.change_s
    return worth


def _joined(found: list[_Open]) -> list[Alternative]:
    joined: list[_Open] = []
    for each in found:
        last = joined[-1] if joined else None
        if (
            last is not None
            and last.to_the_end
            and each.from_the_start
            and each.day_index == last.day_index + 1
            and each.alternative.prize_s == last.alternative.prize_s
        ):
            longer = replace(last.alternative, late_s=each.alternative.late_s)
            joined[-1] = replace(
                last, alternative=longer, day_index=each.day_index, to_the_end=each.to_the_end
            )
        else:
            joined.append(each)
    return [each.alternative for each in joined]
