"""The screening of a wall, as an engineer would write it."""

from collections.abc import Mapping

from repairs.domain.inflation import WATER_KPA_PER_M
from repairs.domain.ovality import ovality_factor
from repairs.domain.soil_load import Ground
from repairs.domain.units import Dimension, words
from repairs.domain.wall_inputs import WallInputs

CAUTION = (
    "A screening number, not a design: the design of a structural repair belongs to a licensed "
    "engineer, with the edition of the practice and the material's tested figures at hand."
)


def wall_working(
    inputs: WallInputs, water_kpa: float, found: Mapping[str, float], governing: str
) -> tuple[str, ...]:
    """Write formula, numbers, units and source of each equation, line by line."""
    factor = ovality_factor(inputs.ovality_percent)
    lines = [
        (
            f"{inputs.edition.designation}, Appendix X1, {inputs.condition.replace('_', ' ')}; "
            f"mean inside diameter {words(inputs.diameter_mm, Dimension.DIAMETER)}, safety factor "
            f"N {inputs.safety_factor:g}."
        ),
        (
            f"C = [(1 - q)/(1 + q)^2]^3 = {factor:.5f} at an ovality q of "
            f"{inputs.ovality_percent:g} %."
        ),
        (
            "Water above the INVERT "
            f"{words(inputs.groundwater_above_invert_m, Dimension.LENGTH, 2)} x "
            f"{WATER_KPA_PER_M:.5f} kPa/m = {_p(water_kpa)}."
        ),
        (
            f"X1.1: P = 2 K EL/(1 - nu^2) 1/(DR - 1)^3 C/N with K {inputs.enhancement:g}, "
            f"LONG-term EL {inputs.long_term_modulus_mpa:g} MPa, nu {inputs.poisson_ratio:g}: "
            f"{_t(found['X1.1'])}."
        ),
        (
            "X1.2: 1.5 q (1 + q) DR^2 - 0.5 (1 + q) DR = strength/(P N) with a long-term flexural "
            f"strength of {inputs.long_term_strength_mpa:g} MPa: {_t(found['X1.2'])}."
        ),
    ]
    if "X1.3" in found and inputs.ground is not None:
        lines += _ground_lines(inputs, inputs.ground, found)
    if "dry" in found:
        lines.append(f"No water above the invert: at least D/100 = {_t(found['dry'])}.")
    lines.append(f"Governing: {governing}, {_t(found[governing])}.")
    return (*lines, CAUTION)


def _ground_lines(inputs: WallInputs, ground: Ground, found: Mapping[str, float]) -> list[str]:
    root = (
        "[32 Rw B' E's C EL I/D^3]^0.5/N"
        if inputs.edition.ovality_under_root
        else "C [32 Rw B' E's EL I/D^3]^0.5/N"
    )
    return [
        (
            f"Above the CROWN: water {words(ground.wet_crown_m, Dimension.LENGTH, 2)}, soil "
            f"{words(ground.cover_m, Dimension.LENGTH, 2)}; Rw = 1 - 0.33 Hw/H = "
            f"{ground.buoyancy:.4f}, B' = 1/(1 + 4 exp(-0.065 H in ft)) = {ground.support:.4f}."
        ),
        (
            f"qt = water {ground.water_kpa:.2f} + soil {ground.soil_weight_kn_m3:g} kN/m3 x H x Rw "
            f"{ground.soil_kpa:.2f} + traffic {ground.live_load_kpa:.2f} = {_p(ground.total_kpa)}."
        ),
        (
            f"X1.3: qt = {root}, LONG-term EL, E's {ground.soil_modulus_mpa:g} MPa: "
            f"{_t(found['X1.3'])}."
        ),
        (
            f"X1.4: E/(12 DR^3) >= 0.093 psi with the SHORT-term E "
            f"{inputs.short_term_modulus_mpa:g} MPa: {_t(found['X1.4'])}."
        ),
    ]


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE, 2)


def _t(thickness_mm: float) -> str:
    return words(thickness_mm, Dimension.DIAMETER, 2)
