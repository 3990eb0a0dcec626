"""Calculates a prescription and keeps it with everything it came from."""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.db import transaction

from repairs.domain.fitness import rules_from
from repairs.domain.kit_choice import Kit
from repairs.domain.limits import limits_from
from repairs.domain.prescription import (
    RULES_VERSION,
    Conditions,
    DefectFacts,
    prescribe,
)
from repairs.domain.prescription import Prescription as Calculated
from repairs.domain.resin import RatioBasis
from repairs.models import Account, Chart, KitType, Prescription, Repair
from repairs.selectors import chart_value


@transaction.atomic
def prescribe_repair(
    *, repair: Repair, conditions: Conditions, by: Account, now: datetime
) -> Prescription:
    """Calculate and store the next prescription of the attempt under way."""
    locked = Repair.objects.select_for_update().get(pk=repair.pk)
    requirement_set = locked.work_order.requirement_set
    defect = defect_facts(locked)
    kits = [kit_value(row, locked.run.diameter_mm) for row in KitType.objects.all()]
    prescribed = prescribe(
        defect,
        conditions,
        limits_from(requirement_set.limits),
        rules_from(requirement_set.fitness_rules),
        kits,
    )
    fitness = prescribed.fitness
    return Prescription.objects.create(
        repair=locked,
        number=locked.prescriptions.count() + 1,
        attempt=locked.attempt,
        requirement_set=requirement_set,
        rules_version=RULES_VERSION,
        inputs={"defect": asdict(defect), "conditions": asdict(conditions)},
        fitness=fitness.answer.value,
        fitness_reasons=[asdict(reason) for reason in fitness.reasons],
        result=None if prescribed.prescription is None else result_json(prescribed.prescription),
        created_by=by,
        created_at=now,
    )


def defect_facts(repair: Repair) -> DefectFacts:
    """Return what is recorded of the defect and its run, as the calculation takes it."""
    return DefectFacts(
        defect_code=repair.defect_code,
        defect_extent_m=repair.defect_extent_m,
        diameter_mm=repair.run.diameter_mm,
        material=repair.run.material,
        groundwater_above_invert_m=repair.run.groundwater_above_invert_m,
        host_limit_kpa=repair.run.host_limit_kpa,
        infiltration=repair.infiltration or None,
        offset_mm=repair.offset_mm,
        deformation_percent=repair.deformation_percent,
        roots=repair.roots,
        deposits=repair.deposits,
        void_behind=repair.void_behind,
        connection_in_sleeve=repair.connection_in_sleeve,
        inspection_filmed=repair.inspection_filmed_on is not None,
        distance_m=repair.distance_m,
        run_length_m=repair.run.length_m,
    )


def kit_value(row: KitType, diameter_mm: float) -> Kit:
    """Return a kit type as the calculation takes it, with the charts for this bore."""
    resin = row.resin_system
    return Kit(
        code=row.code,
        name=row.name,
        diameter_min_mm=row.diameter_min_mm,
        diameter_max_mm=row.diameter_max_mm,
        sleeve_lengths_m=tuple(float(each) for each in row.sleeve_lengths_m),
        thickness_mm=row.thickness_mm,
        fibre_volume_fraction=row.fibre_volume_fraction,
        host_loss_fraction=row.host_loss_fraction,
        waste_fraction=row.waste_fraction,
        usual_inflation_kpa=row.usual_inflation_kpa,
        limit_kpa=row.limit_kpa,
        resin_code=resin.code,
        ratio_a=resin.ratio_a,
        ratio_b=resin.ratio_b,
        ratio_basis=RatioBasis(resin.ratio_basis),
        density_a_kg_m3=resin.density_a_kg_m3,
        density_b_kg_m3=resin.density_b_kg_m3,
        density_mixed_kg_m3=resin.density_mixed_kg_m3,
        model_allowance=resin.model_allowance,
        cure_chart=_chart(row, Chart.CURE, diameter_mm),
        working_chart=_chart(row, Chart.WORKING, diameter_mm),
    )


def _chart(row: KitType, purpose: str, diameter_mm: float) -> Any:
    # Never interpolated across bores: a chart serves its own size band or not at all.
    found = (
        Chart.objects.filter(
            resin_system=row.resin_system,
            purpose=purpose,
            diameter_min_mm__lte=diameter_mm,
            diameter_max_mm__gte=diameter_mm,
        )
        .order_by("-created_at", "-id")
        .first()
    )
    return None if found is None else chart_value(found)


def result_json(done: Calculated) -> dict[str, Any]:
    """Return a prescription as it is stored: figures, charts and working, recomputable.

    Figures have six digits, more than any instrument shows; the maker's charts stay as entered.
    """
    charts = {
        "working_chart": asdict(done.kit.working_chart) if done.kit.working_chart else None,
        "cure_chart": asdict(done.kit.cure_chart) if done.kit.cure_chart else None,
    }
    return {**_six_digits(_figures(done)), **charts}


def _figures(done: Calculated) -> dict[str, Any]:
    return {
        "kit": done.kit.code,
        "kit_name": done.kit.name,
        "resin_system": done.kit.resin_code,
        "sleeve_length_m": done.fit.sleeve_length_m,
        "sleeve_count": done.fit.count,
        "needed_m": done.fit.needed_m,
        "margin_m": done.fit.margin_m,
        "resin": {
            "volume_l": done.resin.volume_l,
            "mass_kg": done.resin.mass_kg,
            "part_a_kg": done.resin.part_a_kg,
            "part_b_kg": done.resin.part_b_kg,
            "part_a_l": done.resin.part_a_l,
            "part_b_l": done.resin.part_b_l,
            "flags": list(done.resin.flags),
        },
        "window": {
            "low_kpa": done.window.low_kpa,
            "high_kpa": done.window.high_kpa,
            "target_kpa": done.target_kpa,
            "feasible": done.window.feasible,
            "reason": done.window.reason,
        },
        "working_min": done.working_min,
        "cure_min": done.cure_min,
        "model_allowance": done.kit.model_allowance,
        "lines": list(done.lines),
    }


def _six_digits(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if isinstance(value, dict):
        return {name: _six_digits(inner) for name, inner in value.items()}
    return value
