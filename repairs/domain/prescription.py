"""What a repair needs, calculated once from one set of inputs.

Fitness first: a defect that may not be repaired this way gets reasons, not a
kit. Then kit and sleeves, resin, inflation window, working time and cure time,
each with its working as an engineer would write it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from repairs.domain.chart import ChartRule, minutes_at
from repairs.domain.fitness import (
    Answer,
    Fitness,
    FitnessFacts,
    Reason,
    Rule,
    judge_fitness,
    with_reasons,
)
from repairs.domain.inflation import InflationInputs, InflationWindow, inflation_window
from repairs.domain.kit_choice import Kit, KitChoice, choose_kit
from repairs.domain.limits import Limits
from repairs.domain.resin import ResinInputs, ResinMasses, resin_masses
from repairs.domain.sleeve_fit import SleeveFit
from repairs.domain.units import Dimension, words

RULES_VERSION = "2026.11"
"""Changes whenever a calculation or the order of decisions changes."""


@dataclass(frozen=True, slots=True)
class DefectFacts:
    """What the inspection and the owner say, in SI; None is 'not known'."""

    defect_code: str
    defect_extent_m: float
    diameter_mm: float
    material: str
    groundwater_above_invert_m: float | None
    host_limit_kpa: float | None
    infiltration: str | None
    offset_mm: float | None
    deformation_percent: float | None
    roots: bool | None
    deposits: bool | None
    void_behind: bool | None
    connection_in_sleeve: bool | None
    inspection_filmed: bool
    distance_m: float | None = None
    run_length_m: float | None = None


@dataclass(frozen=True, slots=True)
class Conditions:
    """What is declared of the day: temperatures, and the packer's limit where known."""

    wall_temperature_c: float
    resin_temperature_c: float
    packer_limit_kpa: float | None = None


@dataclass(frozen=True, slots=True)
class Prescription:
    """What to install and how; only given when the defect may be repaired this way."""

    kit: Kit
    fit: SleeveFit
    resin: ResinMasses
    window: InflationWindow
    target_kpa: float
    working_min: float | None
    cure_min: float | None
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Prescribed:
    """The verdict, and the prescription unless the verdict is no."""

    fitness: Fitness
    prescription: Prescription | None


def prescribe(
    defect: DefectFacts,
    conditions: Conditions,
    limits: Limits,
    rules: Sequence[Rule],
    kits: Sequence[Kit],
) -> Prescribed:
    """Judge the fitness and, where it is not 'no', calculate the prescription.

    Below a chart's coldest row its time is None: the chart refuses, and so
    does the prescription; the crew is told to warm the resin or wait, never
    given a guess.
    """
    choice = choose_kit(
        kits,
        diameter_mm=defect.diameter_mm,
        defect_extent_m=defect.defect_extent_m,
        limits=limits,
    )
    window = _window(defect, conditions, limits, choice)
    fitness = with_reasons(
        judge_fitness(_facts(defect, choice, window), rules),
        [*_too_cold(choice, conditions, limits), *_out_of_the_pipe(choice, defect, limits)],
    )
    if fitness.answer is Answer.NO or choice.kit is None or choice.fit is None or window is None:
        return Prescribed(fitness, None)
    return Prescribed(fitness, _prescription(defect, conditions, choice.kit, choice.fit, window))


def _too_cold(choice: KitChoice, conditions: Conditions, limits: Limits) -> Iterator[Reason]:
    """Say so when the charts give no time: nobody is sent out without one."""
    if choice.kit is None or choice.kit.cure_chart is None or choice.kit.working_chart is None:
        return
    coldest = choice.kit.cure_chart.coldest_c
    wall = conditions.wall_temperature_c - limits.sensor_tolerance_k
    if wall < coldest:
        yield Reason(
            "too_cold",
            Answer.YES_AFTER,
            f"the cure chart begins at {coldest:g} °C; with a sensor tolerance of "
            f"{limits.sensor_tolerance_k:g} K the wall must be warmer: warm it, or wait",
            f"{conditions.wall_temperature_c:g} °C",
            choice.kit.cure_chart.source,
        )
    hottest = choice.kit.working_chart.hottest_c
    if conditions.resin_temperature_c > hottest:
        yield Reason(
            "too_hot",
            Answer.YES_AFTER,
            f"the working-time chart ends at {hottest:g} °C: cool the resin",
            f"{conditions.resin_temperature_c:g} °C",
            choice.kit.working_chart.source,
        )


def _out_of_the_pipe(choice: KitChoice, defect: DefectFacts, limits: Limits) -> Iterator[Reason]:
    """Say so when a sleeve centred on the defect would stand out into an access point."""
    if choice.fit is None or defect.distance_m is None or defect.run_length_m is None:
        return
    count, length = choice.fit.count, choice.fit.sleeve_length_m
    half = (count * length - (count - 1) * limits.sleeve_overlap_m) / 2
    out = max(half - defect.distance_m, defect.distance_m + half - defect.run_length_m)
    if out > 0:
        yield Reason(
            "out_of_the_pipe",
            Answer.YES_AFTER,
            f"a sleeve centred on the defect stands {out:.2f} m out of the run: agree with the "
            "client how its end is made",
            f"{defect.distance_m:g} m in a run of {defect.run_length_m:g} m",
            "geometry",
        )


def _facts(defect: DefectFacts, choice: KitChoice, window: InflationWindow | None) -> FitnessFacts:
    return FitnessFacts(
        defect_code=defect.defect_code,
        defect_extent_m=defect.defect_extent_m,
        diameter_mm=defect.diameter_mm,
        material=defect.material,
        infiltration=defect.infiltration,
        offset_mm=defect.offset_mm,
        deformation_percent=defect.deformation_percent,
        roots=defect.roots,
        deposits=defect.deposits,
        void_behind=defect.void_behind,
        connection_in_sleeve=defect.connection_in_sleeve,
        groundwater_above_invert_m=defect.groundwater_above_invert_m,
        inspection_filmed=defect.inspection_filmed,
        kit_for_diameter=choice.kit is not None,
        # No kit, no sleeves to count and no window: those rules have their say
        # only once there is a kit, so that one cause gives one reason.
        sleeves_needed=0 if choice.fit is None else choice.fit.count,
        window_feasible=window.feasible if window is not None else choice.kit is None or None,
    )


def _window(
    defect: DefectFacts, conditions: Conditions, limits: Limits, choice: KitChoice
) -> InflationWindow | None:
    if choice.kit is None or defect.groundwater_above_invert_m is None:
        return None
    packer = conditions.packer_limit_kpa
    return inflation_window(
        InflationInputs(
            groundwater_above_invert_m=defect.groundwater_above_invert_m,
            groundwater_above_crown_m=None,
            diameter_mm=defect.diameter_mm,
            contact_margin_kpa=limits.contact_margin_kpa,
            packer_limit_kpa=choice.kit.limit_kpa if packer is None else packer,
            host_limit_kpa=defect.host_limit_kpa,
            kit_limit_kpa=choice.kit.limit_kpa,
            gauge_error_kpa=limits.gauge_accuracy_kpa,
        )
    )


def _prescription(
    defect: DefectFacts, conditions: Conditions, kit: Kit, fit: SleeveFit, window: InflationWindow
) -> Prescription:
    resin = resin_masses(
        ResinInputs(
            diameter_mm=defect.diameter_mm,
            length_m=fit.sleeve_length_m,
            thickness_mm=kit.thickness_mm,
            fibre_volume_fraction=kit.fibre_volume_fraction,
            density_mixed_kg_m3=kit.density_mixed_kg_m3,
            density_a_kg_m3=kit.density_a_kg_m3,
            density_b_kg_m3=kit.density_b_kg_m3,
            ratio_a=kit.ratio_a,
            ratio_b=kit.ratio_b,
            ratio_basis=kit.ratio_basis,
            host_loss_fraction=kit.host_loss_fraction,
            waste_fraction=kit.waste_fraction,
        )
    )
    working_min, working_line = _working_minutes(kit, conditions.resin_temperature_c)
    cure_min, cure_line = _cure_minutes(kit, conditions.wall_temperature_c)
    target = min(max(kit.usual_inflation_kpa, window.low_kpa), window.high_kpa)
    target_line = (
        f"Inflate to {_p(target)}: the maker's usual {_p(kit.usual_inflation_kpa)}, "
        f"kept inside {_p(window.low_kpa)} to {_p(window.high_kpa)}."
    )
    lines = (*fit.working, *resin.working, *window.working, target_line, working_line, cure_line)
    return Prescription(kit, fit, resin, window, target, working_min, cure_min, lines)


def _working_minutes(kit: Kit, resin_c: float) -> tuple[float | None, str]:
    chart = kit.working_chart
    if chart is None:
        return None, "There is no working-time chart."
    if resin_c > chart.hottest_c:
        # Hotter than the chart the resin may gel at any moment: no number.
        return None, (
            f"Working time at {_t(resin_c)}: none. The chart ends at {_t(chart.hottest_c)}; "
            "cool the resin first."
        )
    counted_c = max(resin_c, chart.coldest_c)
    minutes = minutes_at(chart, counted_c, ChartRule.ARRHENIUS)
    colder = (
        f" The resin is colder, {_t(resin_c)}: no more is counted than the chart's coldest row."
        if resin_c < counted_c
        else ""
    )
    found = f"Working time at {_t(counted_c)}: {minutes:.0f} min ({chart.version}, {chart.source})."
    return minutes, found + colder


def _cure_minutes(kit: Kit, wall_c: float) -> tuple[float | None, str]:
    chart = kit.cure_chart
    minutes = None if chart is None else minutes_at(chart, wall_c, ChartRule.COLDER_ROW)
    if chart is None or minutes is None:
        return None, f"Cure time at {_t(wall_c)}: none, the chart does not reach so cold."
    return minutes, (
        f"Cure time at {_t(wall_c)} by the chart's colder row: {minutes:.0f} min from "
        f"{chart.clock_start.value} ({chart.version}, {chart.source}). Never shortened by "
        "a calculation."
    )


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE)


def _t(temperature_c: float) -> str:
    return words(temperature_c, Dimension.TEMPERATURE)
