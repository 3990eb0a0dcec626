"""What a wall is reckoned from: host pipe, ground and the sleeve's material."""

import math
from dataclasses import dataclass
from enum import StrEnum

from repairs.domain.inflation import DATUM_TOLERANCE_M
from repairs.domain.soil_load import Ground, refuse_not_positive
from repairs.domain.wall_edition import F1216Edition

_HIGHEST_POISSON = 0.5
_WHOLE_PERCENT = 100.0


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
        for name, low, below in (
            ("ovality_percent", 0.0, _WHOLE_PERCENT),
            ("groundwater_above_invert_m", 0.0, math.inf),
            ("poisson_ratio", 0.0, _HIGHEST_POISSON),
            ("safety_factor", 1.0, math.inf),
        ):
            value = getattr(self, name)
            if not low <= value < below:
                raise ValueError(f"{name}: found {value!r}, expected {low:g} to below {below:g}.")
        if self.long_term_modulus_mpa > self.short_term_modulus_mpa:
            raise ValueError(
                f"long_term_modulus_mpa: found {self.long_term_modulus_mpa:g}, expected at most "
                f"the short-term one, {self.short_term_modulus_mpa:g}: are they exchanged?"
            )
        _refuse_ground(self)


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
