"""From a repair's rows to what a plan asks of it: times, windows, due day, needs, pins."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from uuid import UUID

from dispatch.domain.plan.problem import PlannedRepair, Promise, Window
from dispatch.domain.plan.repair_durations import RepairDurations
from dispatch.domain.plan.weights import Priority
from dispatch.domain.plan_horizon import Horizon, day_there, instant_of
from dispatch.domain.what_if import Supposed
from dispatch.models import Crew
from dispatch.plan_facts.durations import durations_for
from dispatch.plan_facts.forecasts import walls_foretold
from dispatch.plan_facts.open_repairs import OpenRepair
from dispatch.plan_facts.places import Places, place_of_repair
from repairs.domain.work_windows import Span, WindowReason, allowed, windows_from, without
from repairs.models import Prescription, Repair


def durations_of(
    rows: Iterable[OpenRepair], crews: Iterable[Crew], horizon: Horizon, now: datetime
) -> Mapping[UUID, RepairDurations]:
    """Return how long each repair takes, in the coldest that is foretold for these days."""
    those = list(rows)
    prescriptions = {row.repair.pk: row.prescription for row in those}
    repairs = [row.repair for row in those]
    walls_c = walls_foretold(repairs, horizon)
    return durations_for(repairs, prescriptions, crews, now, walls_c=walls_c)


def planned_repair(
    row: OpenRepair,
    horizon: Horizon,
    supposed: Supposed,
    places: Places,
    lasts: RepairDurations,
) -> PlannedRepair:
    """Return a repair as a plan sees it."""
    repair, result = row.repair, row.prescription.result or {}
    kit, kits = kit_need(row.prescription)
    pin = getattr(repair, "pin", None)
    urgent = supposed.is_urgent(str(repair.pk))
    due_on = due_date(repair)
    due_day = None if due_on is None else horizon.day(due_on)
    if urgent:
        due_day = min(0, due_day or 0)
    return PlannedRepair(
        ref=row.name,
        place=places.number(place_of_repair(repair)),
        setup_s=lasts.setup_s,
        cure_s=lasts.cure_s,
        cure_bound_s=lasts.cure_bound_s,
        finish_s=lasts.finish_s,
        windows=_windows(repair, horizon, supposed),
        priority=Priority.A if urgent else Priority(repair.priority),
        due_day=due_day,
        qualifications=frozenset(row.prescription.requirement_set.qualifications),
        diameter_mm=repair.run.diameter_mm,
        sleeve_length_m=float(result["sleeve_length_m"]),
        pressure_kpa=float(result["window"]["high_kpa"]),
        kit_code=kit,
        kits_needed=kits,
        pinned_crew=None if pin is None or pin.crew is None else pin.crew.code,
        pinned_day=None if pin is None or pin.on is None else horizon.day(pin.on),
    )


def promises_of(rows: Iterable[OpenRepair], horizon: Horizon) -> dict[str, Promise]:
    """Return by name what the crews were told: which of them, on which day."""
    found = {}
    for row in rows:
        if row.assignment is None:
            continue
        crew = row.assignment.crew
        on = day_there(row.assignment.starts_at, crew.time_zone)
        if horizon.has(on):
            found[row.name] = Promise(crew.code, horizon.day(on))
    return found


def due_date(repair: Repair) -> date | None:
    """Return the last day on which a repair is in time: its own, or its order's promise."""
    return repair.due_on or repair.work_order.promised_by


def work_spans(repair: Repair, whole: Span) -> tuple[Span, ...]:
    """Return when work on a repair is allowed by its order."""
    return allowed(
        windows_from(repair.windows),
        whole=whole,
        not_before=repair.not_before,
        not_after=repair.not_after,
    )


def needs_low_flow(repair: Repair) -> bool:
    """Return whether one of the repair's windows waits for a low flow."""
    return any(each.why is WindowReason.LOW_FLOW for each in windows_from(repair.windows))


def _windows(repair: Repair, horizon: Horizon, supposed: Supposed) -> tuple[Window, ...]:
    spans = work_spans(repair, Span(horizon.origin, horizon.at(horizon.ends_s)))
    zone = repair.run.site.time_zone
    site = str(repair.run.site_id)
    for on in supposed.idle_dates(site, low_flow=needs_low_flow(repair)):
        midnight = instant_of(on, time(), zone)
        spans = without(spans, Span(midnight, instant_of(on + timedelta(days=1), time(), zone)))
    return tuple(
        Window(horizon.seconds(each.opens_at), horizon.seconds(each.closes_at)) for each in spans
    )


def kit_need(prescription: Prescription) -> tuple[str, int]:
    """Return the code and the number of kits that a prescription takes."""
    result = prescription.result or {}
    return str(result.get("kit", "")), int(result.get("sleeve_count", 0))
