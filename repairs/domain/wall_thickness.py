"""Which wall a sleeve would need by ASTM F1216 Appendix X1: a screening, not a design.

Partially deteriorated: the host pipe carries the soil, the sleeve the groundwater (X1.1,
X1.2). Fully deteriorated: the sleeve carries all of it (X1.3, X1.4 besides).
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from repairs.domain.inflation import DATUM_TOLERANCE_M, WATER_KPA_PER_M
from repairs.domain.ovality import USUAL_OVALITY_PERCENT
from repairs.domain.soil_load import Ground, refuse_not_positive
from repairs.domain.wall_edition import F1216Edition
from repairs.domain.wall_equations import (
    bending_thickness_mm,
    buckling_thickness_mm,
    buried_thickness_mm,
    stiff_thickness_mm,
)
from repairs.domain.wall_working import wall_working

DRY_RATIO = 100.0
"""Without water the wall is at least D / 100. Source: the practice's usual limit (from memory)."""
_HIGHEST_POISSON = 0.5


class PipeCondition(StrEnum):
    """What the host pipe still carries; a judgement of the inspection, so no default."""

    PARTIALLY_DETERIORATED = "partially_deteriorated"
    FULLY_DETERIORATED = "fully_deteriorated"


@dataclass(frozen=True, slots=True)
class WallInputs:
    """A host pipe, its ground, and the material of the sleeve.

    Parameters
    ----------
    edition
        Edition of the practice; printed with the result.
    condition
        What the host pipe still carries.
    diameter_mm
        Mean inside diameter of the host pipe, > 0.
    ovality_percent
        Ovality of the host pipe, 0 to below 100.
    groundwater_above_invert_m
        Water level over the INVERT, >= 0, for X1.1 and X1.2.
    ground
        What lies over the CROWN, for X1.3; required when fully deteriorated.
    long_term_modulus_mpa
        E_L over the design life, > 0 and at most the short-term one.
    short_term_modulus_mpa
        E as tested, > 0, for X1.4 only.
    long_term_strength_mpa
        Long-term flexural strength, > 0.
    poisson_ratio
        nu, 0 to below 0.5.
    enhancement
        K, > 0, usually 7.
    safety_factor
        N, >= 1, usually 1.5 to 2.
    """

    edition: F1216Edition
    condition: PipeCondition
    diameter_mm: float
    ovality_percent: float
    groundwater_above_invert_m: float
    ground: Ground | None
    long_term_modulus_mpa: float
    short_term_modulus_mpa: float
    long_term_strength_mpa: float
    poisson_ratio: float
    enhancement: float
    safety_factor: float

    def __post_init__(self) -> None:
        """Refuse figures that cannot be, and water levels that contradict each other."""
        for name in (
            "diameter_mm",
            "long_term_modulus_mpa",
            "short_term_modulus_mpa",
            "long_term_strength_mpa",
            "enhancement",
        ):
            refuse_not_positive(name, getattr(self, name))
        for name, low, high in (
            ("ovality_percent", 0.0, math.nextafter(100.0, 0.0)),
            ("groundwater_above_invert_m", 0.0, math.inf),
            ("poisson_ratio", 0.0, math.nextafter(_HIGHEST_POISSON, 0.0)),
            ("safety_factor", 1.0, math.inf),
        ):
            value = getattr(self, name)
            if not (math.isfinite(value) and low <= value <= high):
                raise ValueError(f"{name}: found {value!r}, expected {low:g} or more, and usual.")
        if self.long_term_modulus_mpa > self.short_term_modulus_mpa:
            raise ValueError(
                f"long_term_modulus_mpa: found {self.long_term_modulus_mpa:g}, expected at most "
                f"the short-term one, {self.short_term_modulus_mpa:g}: are they exchanged?"
            )
        _refuse_ground(self)


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
        ``unusual_ovality``, ``unusual_safety_factor``, ``partially_with_ground``.
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


def _refuse_ground(inputs: WallInputs) -> None:
    ground = inputs.ground
    if ground is None:
        if inputs.condition is PipeCondition.FULLY_DETERIORATED:
            raise ValueError("ground: found none, expected the ground over the crown for X1.3.")
        return
    from_crown_m = max(ground.groundwater_above_crown_m + inputs.diameter_mm / 1000.0, 0.0)
    crown_is_dry = ground.groundwater_above_crown_m <= 0.0
    above_invert_m = inputs.groundwater_above_invert_m
    # A dry crown may be written as 0: then the invert's level lies within the pipe.
    agrees = (
        above_invert_m <= inputs.diameter_mm / 1000.0 + DATUM_TOLERANCE_M
        if crown_is_dry
        else abs(above_invert_m - from_crown_m) <= DATUM_TOLERANCE_M
    )
    if not agrees:
        raise ValueError(
            f"groundwater: found {above_invert_m:g} m above invert and "
            f"{ground.groundwater_above_crown_m:g} m above crown, expected them to differ by the "
            f"diameter, {inputs.diameter_mm / 1000.0:g} m."
        )


def _flags(inputs: WallInputs) -> tuple[str, ...]:
    partially = inputs.condition is PipeCondition.PARTIALLY_DETERIORATED
    found = {
        "unusual_ovality": inputs.ovality_percent > USUAL_OVALITY_PERCENT,
        "unusual_safety_factor": not USUAL_SAFETY[0] <= inputs.safety_factor <= USUAL_SAFETY[1],
        "ground_not_used": partially and inputs.ground is not None,
    }
    return tuple(code for code, is_so in found.items() if is_so)


USUAL_SAFETY = (1.5, 2.0)
"""Safety factors outside are named, not refused. Source: a textbook's N of 1.5 to 2 (read)."""
