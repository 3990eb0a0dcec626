"""Stores a plan that was found, whole or not at all."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from dispatch.domain.plan.timeline import Stop, Timeline
from dispatch.models import Plan, PlanLeftOut, PlanRun, PlanStop
from dispatch.plan_facts.drafts import Draft, date_of_crew_day
from repairs.models import Account, Repair


@dataclass(frozen=True)
class Asked:
    """Who wanted a plan, and beside which suppositions."""

    by: Account
    label: str
    changes: Sequence[dict[str, Any]]
    derived_from: Plan | None
    seed: int


@transaction.atomic
def finish_run(*, run_id: str, draft: Draft | None, now: datetime) -> PlanRun | None:
    """Store what a run has found and end it; called again it changes nothing."""
    run = PlanRun.objects.select_for_update().filter(pk=run_id).first()
    if run is None or run.state not in PlanRun.OPEN or draft is None:
        return run
    asked = Asked(run.asked_by, run.label, run.changes, run.derived_from, run.seed)
    run.plan = store_plan(draft=draft, asked=asked, now=now)
    called_off = run.cancel_asked_at is not None
    run.state = PlanRun.CANCELLED if called_off else PlanRun.DONE
    run.percent, run.finished_at = 100, now
    stops = sum(len(each.stops) for each in draft.checked.timelines)
    left = len(draft.outside) + len(draft.facts.not_planned)
    best = "called off; the best so far is kept: " if called_off else ""
    run.said = f"{best}{stops} repairs planned, {left} not"
    run.save(update_fields=["plan", "state", "percent", "finished_at", "said"])
    return run


@transaction.atomic
def note_failure(*, run_id: str, error: Exception, last: bool) -> None:
    """Tell whoever watches that a run failed: it is tried again, or given up with the `last`."""
    told = f"{type(error).__name__}: {error}".replace("\x00", "")[:2_000]
    run = PlanRun.objects.filter(pk=run_id, state__in=PlanRun.OPEN)
    if last:
        run.update(state=PlanRun.FAILED, said=told, finished_at=timezone.now())
    else:
        run.update(said=f"failed, and is tried again: {told}")


@transaction.atomic
def store_plan(*, draft: Draft, asked: Asked, now: datetime) -> Plan:
    """Store a draft with its stops and what it leaves out."""
    facts, checked = draft.facts, draft.checked
    plan = Plan.objects.create(
        starts_on=facts.horizon.starts_on,
        days=facts.horizon.days,
        label=asked.label,
        derived_from=asked.derived_from,
        changes=list(asked.changes),
        origin=facts.horizon.origin,
        zone=facts.horizon.zone,
        planned_at=now,
        planned_by=asked.by,
        seed=asked.seed,
        engine=draft.engine,
        method=draft.method,
        weights=asdict(draft.problem.weights),
        inputs_hash=draft.packed.digest,
        travel_source=draft.problem.travel.word,
        figures=asdict(checked.cost),
        trace=[list(each) for each in draft.trace],
        words=draft.words,
        told={str(key): str(each) for key, each in facts.told.items()},
        crews_left_out=[asdict(each) for each in facts.crews_left_out],
        differences=list(draft.differences),
        problem=draft.packed.body,
    )
    for timeline in checked.timelines:
        _store_day(plan, draft, timeline)
    PlanLeftOut.objects.bulk_create(_outside(plan, draft))
    return plan


def _store_day(plan: Plan, draft: Draft, timeline: Timeline) -> None:
    crew = draft.facts.crews[draft.problem.crew_day[timeline.crew_day].crew]
    on = date_of_crew_day(draft.problem, plan.starts_on, timeline.crew_day)
    stored: dict[str, PlanStop] = {}
    for number, stop in enumerate(timeline.stops, start=1):
        row = PlanStop.objects.create(
            plan=plan,
            repair=draft.facts.repairs[stop.repair],
            name=stop.repair,
            crew=crew,
            on=on,
            number=number,
            arrives_at=draft.facts.horizon.at(stop.arrival_s),
            starts_at=draft.facts.horizon.at(stop.start_s),
            ends_at=draft.facts.horizon.at(stop.end_s),
            slack_s=stop.slack_s,
            beside=None if stop.beside is None else stored[stop.beside],
            numbers=_numbers(draft, timeline, stop),
        )
        stored[stop.repair] = row


def _numbers(draft: Draft, timeline: Timeline, stop: Stop) -> dict[str, Any]:
    repair, lunch = draft.problem.repair[stop.repair], timeline.lunch
    at = draft.facts.horizon.at
    return {
        "wait_s": stop.wait_s,
        "setup_s": repair.setup_s,
        "cure_s": repair.cure_s,
        "cure_bound_s": repair.cure_bound_s,
        "finish_s": repair.finish_s,
        "day_travel_s": timeline.travel_s,
        "day_overtime_s": timeline.overtime_s,
        "day_leaves_at": at(draft.problem.crew_day[timeline.crew_day].starts_s).isoformat(),
        "day_back_at": at(timeline.back_s).isoformat(),
        "lunch_at": None if lunch is None else at(lunch.starts_s).isoformat(),
        "lunch_where": None if lunch is None else lunch.where,
        "travel_source": timeline.travel_source,
        "kit": repair.kit_code,
        "kits": repair.kits_needed,
    }


def _outside(plan: Plan, draft: Draft) -> list[PlanLeftOut]:
    repairs = draft.facts.repairs
    found = [
        PlanLeftOut(
            plan=plan,
            repair=repairs[each.name],
            name=each.name,
            refused=each.refused,
            code=each.code,
            words=each.words,
            counted=dict(each.counted),
            closest=each.closest,
            ways_in=[_dated(plan, draft, way) for way in each.ways_in],
        )
        for each in draft.outside
    ]
    never = [(each.repair, each.name, each.code, each.words) for each in draft.facts.not_planned]
    return [*found, *(_never(plan, *each) for each in never)]


def _never(plan: Plan, repair: Repair, name: str, code: str, words: str) -> PlanLeftOut:
    return PlanLeftOut(plan=plan, repair=repair, name=name, refused=True, code=code, words=words)


def _dated(plan: Plan, draft: Draft, way: dict[str, Any]) -> dict[str, Any]:
    on = date_of_crew_day(draft.problem, plan.starts_on, way["crew_day"])
    leaves = draft.facts.repairs.get(way["instead_of"])
    instead = None if leaves is None else str(leaves.pk)
    return {**way, "on": on.isoformat(), "instead_of_repair": instead}
