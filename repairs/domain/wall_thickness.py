"""Which wall a sleeve would need by ASTM F1216 Appendix X1: a screening, not a design.

Partially deteriorated: the host pipe carries the soil, the sleeve the groundwater (X1.1,
X1.2). Fully deteriorated: the sleeve carries all of it (X1.3, X1.4 besides).
"""

from dataclasses import dataclass

from repairs.domain.inflation import WATER_KPA_PER_M
from repairs.domain.ovality import USUAL_OVALITY_PERCENT
from repairs.domain.soil_load import Ground
from repairs.domain.wall_equations import (
    bending_thickness_mm,
    buckling_thickness_mm,
    buried_thickness_mm,
    stiff_thickness_mm,
)
from repairs.domain.wall_inputs import PipeCondition, WallInputs
from repairs.domain.wall_working import wall_working

__all__ = ["PipeCondition", "WallInputs", "WallThickness", "wall_thickness"]

DRY_RATIO = 100.0
"""Without water the wall is at least D / 100. Source: the practice's usual limit (from memory)."""
USUAL_SAFETY = (1.5, 2.0)
"""Safety factors outside are named, not refused. Source: a textbook's N of 1.5 to 2 (read)."""


@dataclass(frozen=True, slots=True)
class WallThickness:
    """What each equation asks for, and which one governs.

    Parameters
    ----------
    thickness_mm
        The largest of `by_equation`.
    governing
        Its equation.
    by_equation
        Equation and wall in mm, in the appendix's order; ``dry`` is the least wall
        where there is no water.
    edition
        Designation of the edition it was reckoned by.
    flags
        ``unusual_ovality``, ``unusual_safety_factor``, ``ground_not_used``.
    working
        Lines as an engineer would write them.
    """

    thickness_mm: float
    governing: str
    by_equation: tuple[tuple[str, float], ...]
    edition: str
    flags: tuple[str, ...]
    working: tuple[str, ...]


def wall_thickness(inputs: WallInputs) -> WallThickness:
    """Reckon the wall each equation of ASTM F1216 Appendix X1 asks for.

    Parameters
    ----------
    inputs
        Host pipe, ground and material.

    Returns
    -------
    WallThickness
        Each equation's wall, the governing one, and the working.

    Raises
    ------
    ValueError
        By `WallInputs`, when a figure cannot be.

    Source
    ------
    ASTM F1216 Appendix X1 as read in one textbook; see docs/calculations.md, "Wall
    thickness". The appendix itself was not at hand.

    Limits
    ------
    A screening number for gravity pipes: design belongs to a licensed engineer. A full
    ring of even wall is assumed, which the ends of a short sleeve are not.
    """
    water_kpa = WATER_KPA_PER_M * inputs.groundwater_above_invert_m
    found = {
        "X1.1": _buckling(inputs, water_kpa),
        "X1.2": bending_thickness_mm(
            diameter_mm=inputs.diameter_mm,
            pressure_kpa=water_kpa,
            ovality_percent=inputs.ovality_percent,
            long_term_strength_mpa=inputs.long_term_strength_mpa,
            safety_factor=inputs.safety_factor,
        ),
    }
    if inputs.condition is PipeCondition.FULLY_DETERIORATED and inputs.ground is not None:
        found["X1.3"] = _buried(inputs, inputs.ground)
        found["X1.4"] = stiff_thickness_mm(inputs.diameter_mm, inputs.short_term_modulus_mpa)
    if water_kpa == 0.0:
        found["dry"] = inputs.diameter_mm / DRY_RATIO
    governing = max(found, key=lambda equation: found[equation])
    return WallThickness(
        thickness_mm=found[governing],
        governing=governing,
        by_equation=tuple(found.items()),
        edition=inputs.edition.designation,
        flags=_flags(inputs),
        working=wall_working(inputs, water_kpa, found, governing),
    )


def _buckling(inputs: WallInputs, water_kpa: float) -> float:
    return buckling_thickness_mm(
        diameter_mm=inputs.diameter_mm,
        pressure_kpa=water_kpa,
        ovality_percent=inputs.ovality_percent,
        long_term_modulus_mpa=inputs.long_term_modulus_mpa,
        poisson_ratio=inputs.poisson_ratio,
        enhancement=inputs.enhancement,
        safety_factor=inputs.safety_factor,
    )


def _buried(inputs: WallInputs, ground: Ground) -> float:
    return buried_thickness_mm(
        diameter_mm=inputs.diameter_mm,
        ground=ground,
        ovality_percent=inputs.ovality_percent,
        long_term_modulus_mpa=inputs.long_term_modulus_mpa,
        safety_factor=inputs.safety_factor,
        ovality_under_root=inputs.edition.ovality_under_root,
    )


def _flags(inputs: WallInputs) -> tuple[str, ...]:
    partially = inputs.condition is PipeCondition.PARTIALLY_DETERIORATED
    found = {
        "unusual_ovality": inputs.ovality_percent > USUAL_OVALITY_PERCENT,
        "unusual_safety_factor": not USUAL_SAFETY[0] <= inputs.safety_factor <= USUAL_SAFETY[1],
        "ground_not_used": partially and inputs.ground is not None,
    }
    return tuple(code for code, is_so in found.items() if is_so)
