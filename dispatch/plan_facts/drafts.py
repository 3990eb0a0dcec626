"""A plan that was found, with its reasons, as values that are ready to be stored."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from dispatch.domain.plan.difference import Change, differences
from dispatch.domain.plan.explain import FITS, Explanation, explain_in
from dispatch.domain.plan.plan import Checked, Plan
from dispatch.domain.plan.problem import Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.routes import Routes, WayIn
from dispatch.domain.plan_horizon import Horizon
from dispatch.domain.plan_words import with_dates
from dispatch.plan_facts.facts import PlanFacts
from dispatch.plan_facts.stored_plan import told_as_checked
from dispatch.plan_facts.stored_problem import Packed, pack


@dataclass(frozen=True)
class Outside:
    """A repair without a place, with its reasons as JSON holds them."""

    name: str
    refused: bool
    code: str
    words: str
    counted: Mapping[str, int]
    closest: dict[str, Any] | None
    ways_in: list[dict[str, Any]]


@dataclass(frozen=True)
class Draft:
    """What a plan is stored from; nothing in it is a row."""

    facts: PlanFacts
    problem: Problem
    packed: Packed
    checked: Checked
    outside: tuple[Outside, ...]
    differences: tuple[dict[str, Any], ...]
    method: str
    engine: str
    words: str
    trace: tuple[tuple[float, int], ...] = ()


def draft_of(
    facts: PlanFacts,
    problem: Problem,
    checked: Checked,
    refused: tuple[Refusal, ...],
    *,
    method: str,
    engine: str,
    words: str = "",
    trace: tuple[tuple[float, int], ...] = (),
) -> Draft:
    """Return a checked plan with the reasons of what it leaves out and what it changes.

    Parameters
    ----------
    problem : Problem
        What was planned: the facts' problem without what was refused.
    """
    routes = Routes(problem, checked.plan)
    told, horizon = told_as_checked(facts), facts.horizon

    def said(words: str) -> str:
        return with_dates(words, horizon.origin, horizon.zone)

    left_out = [
        _left_out(problem, explain_in(routes, problem.repair[name])) for name in checked.left_out
    ]
    outside = [*left_out, *(_refused(each) for each in refused if each.repair)]
    wrong_days = [each.words for each in refused if not each.repair]
    return Draft(
        facts=facts,
        problem=problem,
        packed=pack(problem),
        checked=checked,
        outside=tuple(_dated(each, said) for each in outside),
        differences=changes_as_json(
            differences(problem, told, checked),
            (told, checked),
            horizon,
        ),
        method=method,
        engine=engine,
        words=" ".join([words, *wrong_days]).strip(),
        trace=trace,
    )


def changes_as_json(
    changes: Iterable[Change], plans: tuple[Checked, Checked], horizon: Horizon
) -> tuple[dict[str, Any], ...]:
    """Return differences as JSON holds them: words with dates, and from where to where.

    Parameters
    ----------
    plans : tuple of Checked
        The one before, the one after.
    """
    was, now = (_stands(plan, horizon) for plan in plans)
    return tuple(
        {
            "repair": change.repair,
            "kind": change.kind,
            "words": with_dates(change.words, horizon.origin, horizon.zone),
            "forced": change.forced,
            "cause": None if change.cause is None else refusal_as_json(change.cause, horizon),
            "was": was.get(change.repair),
            "now": now.get(change.repair),
        }
        for change in changes
    )


def refusal_as_json(refusal: Refusal, horizon: Horizon) -> dict[str, Any]:
    """Return a reason as JSON holds it."""
    words = with_dates(refusal.words, horizon.origin, horizon.zone)
    return {**asdict(refusal), "words": words}


def _stands(plan: Checked, horizon: Horizon) -> dict[str, dict[str, str]]:
    return {
        stop.repair: {
            "crew_day": timeline.crew_day,
            "starts_at": horizon.at(stop.start_s).isoformat(),
        }
        for timeline in plan.timelines
        for stop in timeline.stops
    }


def _dated(each: Outside, said: Callable[[str], str]) -> Outside:
    closest = each.closest and {**each.closest, "words": said(each.closest["words"])}
    return replace(each, words=said(each.words), closest=closest)


def date_of_crew_day(problem: Problem, plan_starts_on: date, ref: str) -> date:
    """Return the date of a crew-day."""
    return date.fromordinal(plan_starts_on.toordinal() + problem.crew_day[ref].day)


def as_plan(facts: PlanFacts, plan: Plan) -> Plan:
    """Return a plan without what the facts no longer have."""
    return {
        ref: tuple(name for name in names if name in facts.problem.repair)
        for ref, names in plan.items()
        if ref in facts.problem.crew_day
    }


def _left_out(problem: Problem, why: Explanation) -> Outside:
    commonest = min(why.counted, key=lambda code: (-why.counted[code], code), default="no_crew_day")
    if why.counted.get(FITS):
        code, words = (
            "dearer_than_leaving_it",
            f"there is room, but at a higher price ({why.words})",
        )
    else:
        code = commonest if why.closest is None else why.closest.code
        words = why.words if why.closest is None else f"{why.words}; nearest: {why.closest.words}"
    return Outside(
        name=why.repair,
        refused=False,
        code=code,
        words=words,
        counted=dict(why.counted),
        closest=None if why.closest is None else asdict(why.closest),
        ways_in=[_way(problem, each) for each in why.ways_in],
    )


def _way(problem: Problem, way: WayIn) -> dict[str, Any]:
    return {
        "crew_day": way.crew_day,
        "crew": problem.crew_day[way.crew_day].crew,
        "number": way.index + 1,
        "more_s": way.more_s,
        "instead_of": way.instead_of,
    }


def _refused(each: Refusal) -> Outside:
    return Outside(each.repair, True, each.code, each.words, {}, None, [])
