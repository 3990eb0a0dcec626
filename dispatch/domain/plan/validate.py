"""Refuses the repair that nobody could ever do, with its numbers, and keeps the rest."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from dispatch.domain.plan.fit import CODES, misfit
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal, minutes
from dispatch.domain.plan.route import drive


def possible(problem: Problem) -> tuple[Problem, tuple[Refusal, ...]]:
    """Return the problem without what cannot be in any plan, and why each cannot.

    A crew-day whose numbers make no sense goes the same way; its refusal names no repair.
    """
    days: list[CrewDay] = []
    wrong_days = []
    for day in problem.crew_days:
        words = _wrong_day(problem, day, twice=any(each.ref == day.ref for each in days))
        if words is None:
            days.append(day)
        else:
            wrong_days.append(Refusal("malformed", "", f"crew-day {day.ref}: {words}"))
    rest = replace(problem, crew_days=tuple(days))
    kept: dict[str, PlannedRepair] = {}
    refused = []
    for repair in problem.repairs:
        twice = Refusal("malformed", repair.ref, "is there twice; once would be right")
        why = twice if repair.ref in kept else _refusal(rest, repair)
        if why is None:
            kept[repair.ref] = repair
        else:
            refused.append(why)
    return replace(rest, repairs=tuple(kept.values())), (*wrong_days, *refused)


def _wrong_day(problem: Problem, day: CrewDay, *, twice: bool) -> str | None:
    if twice:
        return "is there twice; once would be right"
    if not 0 <= day.starts_s <= day.ends_s:
        return f"from {day.starts_s} to {day.ends_s} s; an end after its start would be right"
    if day.overtime_s < 0:
        return f"overtime_s is {day.overtime_s}; 0 or more would be right"
    if not all(0 <= each < problem.travel.places for each in (day.start_place, day.end_place)):
        return f"starts at place {day.start_place}, ends at {day.end_place}; one is unknown"
    if any(count < 0 for count in day.kits.values()):
        return "carries fewer than 0 kits"
    return None


def _refusal(problem: Problem, repair: PlannedRepair) -> Refusal | None:
    for words in _malformed(problem, repair):
        return Refusal("malformed", repair.ref, words)
    longest = max((w.closes_s - w.opens_s for w in repair.windows), default=0)
    if longest < repair.on_site_s:
        words = f"needs {minutes(repair.on_site_s)}, the longest window has {minutes(longest)}"
        return Refusal("window_too_short", repair.ref, words, repair.on_site_s - longest)
    against = [misfit(day, repair) for day in problem.crew_days]
    fits = [day for day, why in zip(problem.crew_days, against, strict=True) if why is None]
    if not fits:
        return _nobody(repair, [why for why in against if why is not None])
    return _too_far(problem, repair, fits)


def _malformed(problem: Problem, repair: PlannedRepair) -> Iterator[str]:
    if not 0 <= repair.place < problem.travel.places:
        yield f"place {repair.place}; 0 to {problem.travel.places - 1} would be right"
    for name in ("setup_s", "cure_s", "finish_s", "kits_needed"):
        if getattr(repair, name) < 0:
            yield f"{name} is {getattr(repair, name)}; 0 or more would be right"
    if repair.cure_bound_s < repair.cure_s:
        yield f"cure_bound_s is {repair.cure_bound_s}, less than the cure of {repair.cure_s} s"


def _nobody(repair: PlannedRepair, against: list[Refusal]) -> Refusal:
    """Return the reason of the crew-day that came closest to doing it, and all of them counted."""
    if not against:
        return Refusal("no_crew_day", repair.ref, "there is no crew-day in the horizon")
    counted = Counter(each.code for each in against)
    closest = max(against, key=lambda each: CODES.index(each.code))
    told = ", ".join(f"{code} {n}" for code, n in counted.most_common())
    words = f"fits none of {len(against)} crew-days ({told}); for instance: {closest.words}"
    return Refusal(closest.code, repair.ref, words)


def _too_far(problem: Problem, repair: PlannedRepair, fits: list[CrewDay]) -> Refusal | None:
    alone = [drive(problem.travel, day, [repair]) for day in fits]
    reasons = [each for each in alone if isinstance(each, Refusal)]
    if len(reasons) < len(alone):
        return None
    nearest = min(reasons, key=lambda each: each.short_s)
    words = f"cannot be done even alone on {len(fits)} crew-days that fit; nearest: {nearest.words}"
    return Refusal(nearest.code, repair.ref, words, nearest.short_s)
