"""How long a crew is at a repair: what a plan reckons with."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from dispatch.domain.plan.durations import Learned
from dispatch.domain.plan.repair_durations import (
    ContractTimes,
    RepairDurations,
    Work,
    repair_durations,
)
from dispatch.models import Crew
from dispatch.plan_facts.observed import observed
from repairs.domain.chart import Chart, ChartRule, ClockStart, minutes_at
from repairs.domain.limits import Limits, limits_from
from repairs.domain.stored_prescription import clock_basis
from repairs.models import Prescription, Repair, RequirementSet

_MIN_S = 60


def durations_for(
    repairs: Iterable[Repair],
    prescriptions: Mapping[UUID, Prescription],
    crews: Iterable[Crew],
    now: datetime,
    *,
    walls_c: Mapping[UUID, float] | None = None,
) -> Mapping[UUID, RepairDurations]:
    """Return how long each repair takes, by its id.

    A repair whose chart gives no hold, since it is too cold, is missing: nobody plans by a
    guess. The cure is never shorter than the chart's hold.

    Parameters
    ----------
    prescriptions : mapping
        By repair; each has a result with its times.
    crews : iterable of Crew
        Who may do it. Where it is one crew, that crew's own times count before others'.
    walls_c : mapping, optional
        The forecast temperature of a repair's wall, where somebody knows one. The declared
        one counts as well, and the colder of the two gives the hold.
    """
    codes = {crew.code for crew in crews}
    crew = codes.pop() if len(codes) == 1 else ""
    learned = observed(now=now).learned
    contracts = RequirementSet.objects.in_bulk(
        {each.requirement_set_id for each in prescriptions.values()}
    )
    limits = {key: limits_from(row.limits) for key, row in contracts.items()}
    found = {}
    for repair in repairs:
        prescription = prescriptions[repair.pk]
        times = _durations(
            repair,
            prescription,
            limits[prescription.requirement_set_id],
            learned=learned,
            crew=crew,
            wall_c=(walls_c or {}).get(repair.pk),
        )
        if times is not None:
            found[repair.pk] = times
    return found


def _durations(
    repair: Repair,
    prescription: Prescription,
    limits: Limits,
    *,
    learned: Learned,
    crew: str,
    wall_c: float | None,
) -> RepairDurations | None:
    result = prescription.result
    if not result or not result.get("cure_min"):
        return None
    basis = clock_basis(prescription.inputs, result)
    chart = None if basis is None else basis.cure_chart
    declared_c = None if basis is None else basis.declared_wall_c
    known = [each for each in (wall_c, declared_c) if each is not None]
    coldest_c = min(known) if known else None
    hold_min = _hold_min(chart, coldest_c, float(result["cure_min"]))
    if hold_min is None:
        return None
    colder_c = None if coldest_c is None else coldest_c - limits.sensor_tolerance_k
    careful_min = _hold_min(chart, colder_c, hold_min) or hold_min
    return repair_durations(
        learned,
        Work(
            diameter_mm=repair.run.diameter_mm,
            hold_s=hold_min * _MIN_S,
            working_s=(result.get("working_min") or 0) * _MIN_S,
            crew=crew,
            wall_c=coldest_c,
            sleeves=result["sleeve_count"],
            clock_from_mixing=chart is not None and chart.clock_start is ClockStart.MIXING,
        ),
        ContractTimes(
            setup_s=limits.setup_min * _MIN_S,
            finish_s=limits.finish_min * _MIN_S,
            cure_margin_s=(careful_min - hold_min + limits.cure_margin_min) * _MIN_S,
        ),
    )


def _hold_min(chart: Chart | None, wall_c: float | None, prescribed_min: float) -> float | None:
    """Return the chart's hold at a temperature, never less than what was prescribed."""
    if chart is None or wall_c is None:
        return prescribed_min
    minutes = minutes_at(chart, wall_c, ChartRule.COLDER_ROW)
    return None if minutes is None else max(minutes, prescribed_min)
