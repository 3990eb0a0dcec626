"""All that a plan is made from: one problem out of the rows, and the way back to them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import PlannedRepair, Problem
from dispatch.domain.plan.under_way import from_now
from dispatch.domain.plan.weights import Weights
from dispatch.domain.plan_horizon import Horizon, day_there, horizon_of
from dispatch.domain.what_if import Supposed, Supposition
from dispatch.models import Crew, PlanPrices
from dispatch.plan_facts.at_work import under_way
from dispatch.plan_facts.crew_days import CrewLeftOut, crew_day_ref, crew_facts, crews_to_plan
from dispatch.plan_facts.open_repairs import NotPlanned, OpenRepair, OpenRepairs, open_repairs
from dispatch.plan_facts.places import Places
from dispatch.plan_facts.planned_repairs import durations_of, planned_repair, promises_of
from dispatch.plan_facts.too_cold import too_cold
from dispatch.plan_facts.ways import travel_between
from repairs.models import Repair


@dataclass(frozen=True)
class PlanFacts:
    """A problem, and which rows its names stand for.

    Parameters
    ----------
    told : mapping
        By repair the live assignment that the plan may move or take back.
    names : mapping
        What each open repair is called, planned or not.
    so_far : mapping
        What the crews were told, as a plan.
    begun : frozenset of UUID
        The repairs a crew has begun: no plan holds or moves them.
    """

    horizon: Horizon
    problem: Problem
    repairs: Mapping[str, Repair]
    crews: Mapping[str, Crew]
    not_planned: tuple[NotPlanned, ...]
    crews_left_out: tuple[CrewLeftOut, ...]
    told: Mapping[UUID, UUID]
    names: Mapping[UUID, str]
    so_far: Plan
    begun: frozenset[UUID]


def plan_facts(
    *,
    starts_on: date,
    days: int,
    supposed: Supposed,
    now: datetime,
    asked_for: Iterable[UUID] = (),
) -> PlanFacts:
    """Read the rows as they stand now, with what is supposed beside them.

    It may ask a service for ways: call it outside any transaction.
    """
    crews = crews_to_plan()
    horizon = horizon_of(starts_on, days, {crew.time_zone for crew in crews})
    urgent = [UUID(each.repair) for each in supposed.those if each.kind is Supposition.URGENT]
    by_hand = {crew.code for crew in crews if crew.yard is None or not crew.work_hours.all()}
    found = open_repairs(horizon, now, [*asked_for, *urgent], by_hand=by_hand)
    places = Places()
    told = {key: row.pk for key, row in found.told.items()}
    crew_rows = crew_facts(crews, horizon, supposed, places, told.values())
    lasts = durations_of([*found.to_plan, *found.begun], crews, horizon, now)
    timed = [row for row in found.to_plan if row.repair.pk in lasts]
    untimed = [row for row in found.to_plan if row.repair.pk not in lasts]
    begun = [row for row in found.begun if row.repair.pk in lasts]

    def planned(row: OpenRepair) -> PlannedRepair:
        return planned_repair(row, horizon, supposed, places, lasts[row.repair.pk])

    at_work = under_way(begun, crew_rows.days, horizon, lasts, now)
    held = {each.repair for each in at_work}
    # The kits of what is begun are counted with the truck's.
    going_on = [replace(planned(row), kits_needed=0) for row in begun if row.name in held]
    problem = Problem(
        origin=horizon.origin,
        days=days,
        repairs=(*map(planned, timed), *going_on),
        travel=travel_between(places.all(), now),  # after every place was met
        crew_days=crew_rows.days,
        weights=weights_now(supposed),
        stock=crew_rows.stock,
        promised=promises_of(timed, horizon),
    )
    return PlanFacts(
        horizon=horizon,
        problem=from_now(problem, at_work, horizon.seconds(now)),
        repairs={row.name: row.repair for row in timed},
        crews={crew.code: crew for crew in crews},
        not_planned=(*found.not_planned, *too_cold(untimed, horizon)),
        crews_left_out=crew_rows.left_out,
        told=told,
        names=found.names,
        so_far=_so_far(found),
        begun=frozenset(row.repair.pk for row in found.begun),
    )


def company_prices() -> dict[str, int]:
    """Return the company's own prices, by name; what is not there is usual."""
    newest = PlanPrices.objects.first()
    return dict(newest.prices) if newest is not None else {}


def weights_now(supposed: Supposed) -> Weights:
    """Return all prices: the usual, over them the company's, over them what is supposed."""
    return Weights(**{**company_prices(), **supposed.prices()})


def _so_far(found: OpenRepairs) -> Plan:
    names = found.names
    plan: dict[str, list[str]] = {}
    for row in sorted(found.told.values(), key=lambda each: each.starts_at):
        on = day_there(row.starts_at, row.crew.time_zone)
        plan.setdefault(crew_day_ref(row.crew.code, on), []).append(names[row.repair_id])
    return {ref: tuple(those) for ref, those in plan.items()}
