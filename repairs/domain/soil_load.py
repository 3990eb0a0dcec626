"""What presses on a pipe that bears nothing itself any more: water, soil and traffic.

Everything here is measured from the pipe's crown, as equation X1.3 wants it; the
groundwater of X1.1 is measured from the invert and has no place here.
"""

import math
from dataclasses import dataclass

from repairs.domain.inflation import WATER_KPA_PER_M
from repairs.domain.units import FOOT_M

LEAST_BUOYANCY = 0.67
"""Rw is never less. Source: ASTM F1216 Appendix X1, read in a textbook."""
_BUOYANCY_SHARE = 0.33
_SUPPORT_PER_M = 0.065 / FOOT_M
"""0.065 per foot of cover. Source: as above; the book prints 0.65 once, a misprint."""


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground over a pipe that is fully deteriorated.

    Parameters
    ----------
    groundwater_above_crown_m
        Water level over the pipe's crown (negative or 0 when the crown is dry).
    cover_m
        Soil over the crown, > 0.
    soil_weight_kn_m3
        Unit weight of the soil, > 0.
    soil_modulus_mpa
        Modulus of soil reaction E's, > 0; an engineer's figure.
    live_load_kpa
        Traffic at the crown, >= 0; see `live_load_kpa`.
    """

    groundwater_above_crown_m: float
    cover_m: float
    soil_weight_kn_m3: float
    soil_modulus_mpa: float
    live_load_kpa: float

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        if not math.isfinite(self.groundwater_above_crown_m):
            found = repr(self.groundwater_above_crown_m)
            raise ValueError(f"groundwater_above_crown_m: found {found}, expected a number.")
        for name in ("cover_m", "soil_weight_kn_m3", "soil_modulus_mpa"):
            refuse_not_positive(name, getattr(self, name))
        if not (math.isfinite(self.live_load_kpa) and self.live_load_kpa >= 0.0):
            raise ValueError(f"live_load_kpa: found {self.live_load_kpa!r}, expected 0 or more.")

    @property
    def wet_crown_m(self) -> float:
        """Water over the crown, 0 where it is dry."""
        return max(self.groundwater_above_crown_m, 0.0)

    @property
    def water_kpa(self) -> float:
        """Pressure of the water at the crown."""
        return WATER_KPA_PER_M * self.wet_crown_m

    @property
    def buoyancy(self) -> float:
        """Factor Rw by which water carries soil: ``1 - 0.33 Hw / H``, at least 0.67."""
        return max(1.0 - _BUOYANCY_SHARE * self.wet_crown_m / self.cover_m, LEAST_BUOYANCY)

    @property
    def soil_kpa(self) -> float:
        """Pressure of the soil at the crown, ``w H Rw``."""
        return self.soil_weight_kn_m3 * self.cover_m * self.buoyancy

    @property
    def total_kpa(self) -> float:
        """External pressure at the crown: water, soil and traffic."""
        return self.water_kpa + self.soil_kpa + self.live_load_kpa

    @property
    def support(self) -> float:
        """Coefficient of elastic support B', ``1 / (1 + 4 exp(-0.065 H))`` with H in feet."""
        return 1.0 / (1.0 + 4.0 * math.exp(-_SUPPORT_PER_M * self.cover_m))


def wheel_coefficient(half_width_ratio: float, half_length_ratio: float) -> float:
    """Return the share of a wheel's load that reaches a rectangle centred below it.

    Four times the corner factor of Boussinesq's half space, as Newmark integrated it.

    Parameters
    ----------
    half_width_ratio, half_length_ratio
        Half the rectangle's width (the pipe's diameter) and half its length, each over
        the depth; 0 or more.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        When a ratio is negative or not a number.

    Source
    ------
    Theory of elasticity; a table of 1982 for sewer design agrees within 0.002 (read).

    Limits
    ------
    One wheel right above, on elastic soil without a road slab.
    """
    m, n = half_width_ratio, half_length_ratio
    if not (math.isfinite(m) and math.isfinite(n) and min(m, n) >= 0.0):
        raise ValueError(f"ratios: found {m!r} and {n!r}, expected 0 or more.")
    root = math.sqrt(m * m + n * n + 1.0)
    corner = math.atan(m * n / root) + m * n / root * (1.0 / (1.0 + m * m) + 1.0 / (1.0 + n * n))
    return 2.0 / math.pi * corner


def live_load_kpa(
    *,
    wheel_kn: float,
    impact_factor: float,
    coefficient: float,
    diameter_mm: float,
    effective_length_m: float,
) -> float:
    """Return the pressure of one wheel on a pipe, ``Cs P F / (L D)``.

    Parameters
    ----------
    wheel_kn
        Load of the wheel, >= 0.
    impact_factor
        At least 1.
    coefficient
        Cs, from `wheel_coefficient` or a table the designer names, 0 to 1.
    diameter_mm
        Diameter of the pipe, > 0.
    effective_length_m
        Length of pipe that carries the wheel together, > 0; 3 ft in the usual tables.

    Returns
    -------
    float
        kPa at the crown.

    Raises
    ------
    ValueError
        When a figure is not in its range.

    Source
    ------
    Sewer design manual of 1982, as quoted in a textbook (read), which writes 0.33 / ft
    for 1 / (3 ft).

    Limits
    ------
    Those of `wheel_coefficient`.
    """
    if not (math.isfinite(wheel_kn) and wheel_kn >= 0.0):
        raise ValueError(f"wheel_kn: found {wheel_kn!r}, expected 0 or more.")
    if not (math.isfinite(impact_factor) and impact_factor >= 1.0):
        raise ValueError(f"impact_factor: found {impact_factor!r}, expected 1 or more.")
    if not 0.0 <= coefficient <= 1.0:
        raise ValueError(f"coefficient: found {coefficient!r}, expected 0 to 1.")
    refuse_not_positive("diameter_mm", diameter_mm)
    refuse_not_positive("effective_length_m", effective_length_m)
    return coefficient * wheel_kn * impact_factor / (effective_length_m * diameter_mm / 1000.0)


def refuse_not_positive(name: str, value: float) -> None:
    """Refuse a figure that has to be above 0.

    Raises
    ------
    ValueError
        When it is not.
    """
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name}: found {value!r}, expected more than 0.")
