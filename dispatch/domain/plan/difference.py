"""What is different between two plans, each change with its cause."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.domain.plan.could_stay import could_stay
from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Checked, Plan
from dispatch.domain.plan.problem import PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal, clock, minutes
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.routes import Routes, WayIn
from dispatch.domain.plan.timeline import Stop

CHEAPER = "cheaper"
GAVE_WAY = "gave_way"
_CHOICES = (CHEAPER, GAVE_WAY)
SAME_TIME_S = 15 * 60
"""A start that moves by less is not told to anybody (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Change:
    """What happened to one repair between two plans.

    Parameters
    ----------
    kind : str
        'new', 'left_out', 'gone', 'moved' or 'other_time'.
    cause : Refusal or None
        Why it could not stay where it was, with code and numbers. When it could have, the
        change is a choice and `forced` is false: code 'gave_way' when others have its place
        now, 'cheaper' when nobody has.
    """

    repair: str
    kind: str
    words: str
    cause: Refusal | None
    forced: bool


def differences(problem: Problem, before: Checked, after: Checked) -> tuple[Change, ...]:
    """Return every change from one plan to the next, in the order of the repairs.

    Parameters
    ----------
    problem : Problem
        The one that `after` solves; `before` may name crew-days and repairs it no longer
        has, which are then 'gone': done, withdrawn, or refused before planning.
    """
    was, now = _where(before), _where(after)
    found = []
    for ref in sorted(was.keys() | now.keys()):
        if ref not in was:
            day, stop = now[ref]
            found.append(Change(ref, "new", f"{day}, {clock(stop.start_s)}", None, forced=False))
        elif ref not in now:
            found.append(_left_out(problem, before, after, ref, was[ref][0]))
        elif now[ref][0] != was[ref][0]:
            found.append(_moved(problem, before, after, was[ref][0], now[ref]))
        elif abs(now[ref][1].start_s - was[ref][1].start_s) >= SAME_TIME_S:
            found.append(_other_time(before.plan, after.plan, was[ref][1], now[ref]))
    return tuple(found)


def _where(checked: Checked) -> dict[str, tuple[str, Stop]]:
    return {
        stop.repair: (timeline.crew_day, stop)
        for timeline in checked.timelines
        for stop in timeline.stops
    }


def _left_out(problem: Problem, before: Checked, after: Checked, ref: str, old: str) -> Change:
    if ref not in problem.repair:
        return Change(ref, "gone", f"no longer to be planned; was {old}", None, forced=True)
    cause = _cause(problem, after.plan, before.plan, problem.repair[ref], old)
    return Change(ref, "left_out", f"was {old}", cause, forced=cause.code not in _CHOICES)


def _moved(
    problem: Problem, before: Checked, after: Checked, old: str, now: tuple[str, Stop]
) -> Change:
    day, stop = now
    cause = _cause(problem, after.plan, before.plan, problem.repair[stop.repair], old)
    words = f"from {old} to {day}, {clock(stop.start_s)}"
    return Change(stop.repair, "moved", words, cause, forced=cause.code not in _CHOICES)


def _other_time(before: Plan, plan: Plan, was: Stop, now: tuple[str, Stop]) -> Change:
    day, stop = now
    by = stop.start_s - was.start_s
    came = [f"{each} came in" for each in plan[day] if each not in before[day]]
    left = [f"{each} left" for each in before[day] if each not in plan[day]]
    reason = "; ".join([*came, *left]) or "the order or the ways of the day changed"
    later = "later" if by > 0 else "earlier"
    words = f"{day}: {minutes(abs(by))} {later}, {clock(stop.start_s)}"
    cause = Refusal("route_changed", stop.repair, reason, abs(by))
    return Change(stop.repair, "other_time", words, cause, forced=False)


def _cause(problem: Problem, plan: Plan, before: Plan, repair: PlannedRepair, old: str) -> Refusal:
    """Return why a repair is not where it was: what forbids it, or what was saved."""
    day = problem.crew_day.get(old)
    if day is None:
        return Refusal("crew_day_gone", repair.ref, _named(old, " does not go out"))
    if (refusal := misfit(day, repair)) is not None:
        return refusal
    rest = [problem.repair[each] for each in before[old] if each in problem.repair]
    rest = [each for each in rest if misfit(day, each) is None]
    driven = drive(problem.travel, day, rest)
    if isinstance(driven, Refusal) and repair.ref not in could_stay(problem, before, plan, old):
        words = f"the old route of {_named(old)} can no longer be driven: {driven.words}"
        return Refusal("route_no_longer_fits", repair.ref, words, driven.short_s)
    return _choice(problem, plan, before, repair, old)


def _choice(problem: Problem, plan: Plan, before: Plan, repair: PlannedRepair, old: str) -> Refusal:
    without = {ref: tuple(r for r in rs if r != repair.ref) for ref, rs in plan.items()}
    routes = Routes(problem, without)
    back = routes.best_in(problem.crew_day[old], repair)
    if isinstance(back, Refusal):
        came = _names([each for each in plan.get(old, ()) if each not in before[old]])
        return Refusal(GAVE_WAY, repair.ref, f"{came} took its place ({back.words})", back.short_s)
    now = next((ref for ref, rs in plan.items() if repair.ref in rs), None)
    saved = back.more_s - _price(routes, repair, now)
    return Refusal(CHEAPER, repair.ref, f"saves {minutes(saved)} of driving or its like", saved)


def _price(routes: Routes, repair: PlannedRepair, now: str | None) -> int:
    if now is None:
        return 0
    found = routes.best_in(routes.problem.crew_day[now], repair)
    return found.more_s if isinstance(found, WayIn) else 0


def _named(crew_day: str, verb: str = "") -> str:
    """Return a crew-day as people call it, where it is a crew's code and a date.

    Parameters
    ----------
    verb : str
        What is said of the crew, between it and its day.
    """
    crew, _, on = crew_day.rpartition("/")
    try:
        return f"crew {crew}{verb} on {date.fromisoformat(on):%a %d %b}"
    except ValueError:
        return f"{crew_day}{verb}"


def _names(refs: Sequence[str]) -> str:
    return ", ".join(refs) if refs else "another order of the day"
