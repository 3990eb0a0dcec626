"""From the rows of a plan, or of what crews were told, back to the values plans are compared by."""

from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from uuid import UUID

from dispatch.domain.plan.plan import Checked, Cost
from dispatch.domain.plan.timeline import Stop, Timeline
from dispatch.domain.plan.travel import ESTIMATED
from dispatch.models import Assignment, Plan, PlanStop
from dispatch.plan_facts.crew_days import crew_day_ref
from dispatch.plan_facts.facts import PlanFacts

_FREE = Cost(**{item.name: 0 for item in fields(Cost)})


def told_as_checked(facts: PlanFacts) -> Checked:
    """Return what the crews were told as a plan with its times; nobody has checked it."""
    rows = Assignment.objects.filter(pk__in=list(facts.told.values()))
    stops = {
        facts.names[row.repair_id]: _stop(
            facts.names[row.repair_id],
            *(facts.horizon.seconds(at) for at in (row.starts_at, row.starts_at, row.ends_at)),
            slack_s=0,
        )
        for row in rows
    }
    days = {ref: tuple(stops[name] for name in those) for ref, those in facts.so_far.items()}
    return _checked(days, _FREE, ())


def as_checked(plan: Plan, *, beside: Plan | None = None) -> Checked:
    """Return a stored plan as it was checked.

    Parameters
    ----------
    beside : Plan, optional
        Another plan it is compared with: the names and the origin are that one's then.
    """
    known = {} if beside is None else names_in(beside)
    origin = (beside or plan).origin
    days: dict[str, list[Stop]] = {}
    for row in plan.stops.select_related("crew"):
        name = known.get(row.repair_id, row.name)
        at = (_seconds(origin, each) for each in (row.arrives_at, row.starts_at, row.ends_at))
        stop = _stop(name, *at, slack_s=row.slack_s)
        days.setdefault(crew_day_ref(row.crew.code, row.on), []).append(stop)
    left_out = plan.left_out.filter(refused=False).values_list("repair_id", "name")
    return _checked(
        {ref: tuple(stops) for ref, stops in days.items()},
        Cost(**{item.name: plan.figures.get(item.name, 0) for item in fields(Cost)}),
        tuple(known.get(key, name) for key, name in left_out),
    )


def names_in(plan: Plan) -> dict[UUID, str]:
    """Return what a stored plan calls each of its repairs."""
    rows: Iterable[tuple[UUID, str]] = [
        *plan.stops.values_list("repair_id", "name"),
        *plan.left_out.values_list("repair_id", "name"),
    ]
    return dict(rows)


def stops_by_name(plan: Plan, facts: PlanFacts) -> dict[str, tuple[str, ...]]:
    """Return the routes of a stored plan in the names that the facts have now.

    What has begun or is closed meanwhile is not among them.
    """
    names = {row.pk: name for name, row in facts.repairs.items()}
    days: dict[str, list[str]] = {}
    rows: Iterable[PlanStop] = plan.stops.select_related("crew")
    for row in rows:
        if row.repair_id in names:
            ref = crew_day_ref(row.crew.code, row.on)
            days.setdefault(ref, []).append(names[row.repair_id])
    return {ref: tuple(those) for ref, those in days.items()}


def _checked(
    days: Mapping[str, tuple[Stop, ...]], cost: Cost, left_out: tuple[str, ...]
) -> Checked:
    plan = {ref: tuple(stop.repair for stop in stops) for ref, stops in days.items()}
    timelines = tuple(
        Timeline(ref, stops, stops[-1].end_s, 0, 0, None, ESTIMATED)
        for ref, stops in days.items()
        if stops
    )
    return Checked(plan, timelines, left_out, cost)


def _stop(name: str, arrival_s: int, start_s: int, end_s: int, *, slack_s: int) -> Stop:
    return Stop(name, arrival_s, start_s - arrival_s, start_s, end_s, slack_s)


def _seconds(origin: datetime, at: datetime) -> int:
    return int((at - origin).total_seconds())
