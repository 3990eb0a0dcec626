"""The four equations of ASTM F1216 Appendix X1 for gravity pipes, each for one unknown.

X1.1 and X1.3 take the LONG-term modulus, X1.4 the SHORT-term one; both are named so.
X1.3 takes pressure at the crown, X1.1 the water at the invert.
"""

from repairs.domain.ovality import bending_ratio, ovality_factor
from repairs.domain.soil_load import Ground
from repairs.domain.units import PSI_KPA

LEAST_STIFFNESS_KPA = 0.093 * PSI_KPA
"""Least ``E / (12 DR^3)``, 0.093 psi. Source: ASTM F1216 X1.4, read in a textbook."""
_KPA_A_MPA = 1000.0
_RING = 12.0
"""A ring 1 long has ``I = t^3 / 12``."""
_BURIED = 32.0


def buckling_thickness_mm(
    *,
    diameter_mm: float,
    pressure_kpa: float,
    ovality_percent: float,
    long_term_modulus_mpa: float,
    poisson_ratio: float,
    enhancement: float,
    safety_factor: float,
) -> float:
    """Return the wall that water alone does not buckle (X1.1, partially deteriorated).

    ``P = 2 K E_L / (1 - nu^2) x 1 / (DR - 1)^3 x C / N``, solved for t.

    Parameters
    ----------
    diameter_mm
        Mean inside diameter of the host pipe, > 0.
    pressure_kpa
        Water at the INVERT, >= 0.
    ovality_percent
        Ovality of the host pipe.
    long_term_modulus_mpa
        E_L, creep over the design life taken off.
    poisson_ratio
        nu of the wall, usually 0.3.
    enhancement
        K, by which the host pipe supports the liner, usually 7.
    safety_factor
        N.

    Returns
    -------
    float
        Wall in mm; 0 without water.

    Source
    ------
    ASTM F1216 Appendix X1, equation X1.1, read in a textbook.

    Limits
    ------
    A host pipe that still carries the soil by itself.
    """
    if pressure_kpa == 0.0:
        return 0.0
    ring = _ring_kpa(long_term_modulus_mpa, poisson_ratio, enhancement)
    strength = ring * ovality_factor(ovality_percent) / (safety_factor * pressure_kpa)
    return float(diameter_mm / (1.0 + strength ** (1.0 / 3.0)))


def buckling_pressure_kpa(
    *,
    diameter_mm: float,
    thickness_mm: float,
    ovality_percent: float,
    long_term_modulus_mpa: float,
    poisson_ratio: float,
    enhancement: float,
    safety_factor: float,
) -> float:
    """Return the water a wall bears by X1.1: the inverse of `buckling_thickness_mm`.

    Parameters, Source and Limits are those of `buckling_thickness_mm`.

    Returns
    -------
    float
        Pressure at the invert in kPa.
    """
    ring = _ring_kpa(long_term_modulus_mpa, poisson_ratio, enhancement)
    slender = diameter_mm / thickness_mm - 1.0
    return ring * ovality_factor(ovality_percent) / (safety_factor * slender**3)


def bending_thickness_mm(
    *,
    diameter_mm: float,
    pressure_kpa: float,
    ovality_percent: float,
    long_term_strength_mpa: float,
    safety_factor: float,
) -> float:
    """Return the wall in which an oval pipe's bending stays below its strength (X1.2).

    Returns
    -------
    float
        Wall in mm; 0 for a round pipe and without water.

    Source
    ------
    ASTM F1216 Appendix X1, equation X1.2, read in a textbook.
    """
    if pressure_kpa == 0.0:
        return 0.0
    strength = long_term_strength_mpa * _KPA_A_MPA / (pressure_kpa * safety_factor)
    ratio = bending_ratio(strength, ovality_percent)
    return 0.0 if ratio is None else diameter_mm / ratio


def buried_thickness_mm(
    *,
    diameter_mm: float,
    ground: Ground,
    ovality_percent: float,
    long_term_modulus_mpa: float,
    safety_factor: float,
    ovality_under_root: bool,
) -> float:
    """Return the wall that carries water, soil and traffic (X1.3, fully deteriorated).

    ``qt = [32 Rw B' E's C E_L I / D^3]^0.5 / N`` with ``I = t^3 / 12``, solved for t:
    ``t = 0.721 D [(N qt)^2 / (E_L Rw B' C E's)]^(1/3)``.

    Parameters
    ----------
    diameter_mm
        Mean inside diameter of the host pipe, > 0.
    ground
        What lies over the CROWN.
    ovality_percent
        Ovality of the host pipe.
    long_term_modulus_mpa
        E_L, creep over the design life taken off.
    safety_factor
        N.
    ovality_under_root
        As the edition has it; before, C stood in front of the root.

    Returns
    -------
    float
        Wall in mm.

    Source
    ------
    ASTM F1216 Appendix X1, equation X1.3, read in a textbook with one worked example.

    Limits
    ------
    E's and the soil's weight are the designer's; no void beside the pipe.
    """
    per_cube_kpa2 = _buried_kpa2(ground, ovality_percent, long_term_modulus_mpa, ovality_under_root)
    wanted_kpa2 = (safety_factor * ground.total_kpa) ** 2
    return float(diameter_mm * (_RING / _BURIED * wanted_kpa2 / per_cube_kpa2) ** (1.0 / 3.0))


def buried_load_kpa(
    *,
    diameter_mm: float,
    thickness_mm: float,
    ground: Ground,
    ovality_percent: float,
    long_term_modulus_mpa: float,
    safety_factor: float,
    ovality_under_root: bool,
) -> float:
    """Return the load at the crown a wall bears by X1.3: the inverse of `buried_thickness_mm`.

    Parameters, Source and Limits are those of `buried_thickness_mm`.

    Returns
    -------
    float
        Total external pressure in kPa.
    """
    per_cube_kpa2 = _buried_kpa2(ground, ovality_percent, long_term_modulus_mpa, ovality_under_root)
    cube = (thickness_mm / diameter_mm) ** 3
    return float((_BURIED / _RING * per_cube_kpa2 * cube) ** 0.5 / safety_factor)


def stiff_thickness_mm(diameter_mm: float, short_term_modulus_mpa: float) -> float:
    """Return the wall that is stiff enough to be installed (X1.4).

    ``E / (12 DR^3) >= 0.093 psi`` (0.641 kPa), E being the SHORT-term modulus.

    Source
    ------
    ASTM F1216 Appendix X1, equation X1.4, read in a textbook.
    """
    share = _RING * LEAST_STIFFNESS_KPA / (short_term_modulus_mpa * _KPA_A_MPA)
    return float(diameter_mm * share ** (1.0 / 3.0))


def _ring_kpa(modulus_mpa: float, poisson_ratio: float, enhancement: float) -> float:
    return 2.0 * enhancement * modulus_mpa * _KPA_A_MPA / (1.0 - poisson_ratio**2)


def _buried_kpa2(
    ground: Ground,
    ovality_percent: float,
    modulus_mpa: float,
    ovality_under_root: bool,  # noqa: FBT001 - a figure of the equation
) -> float:
    reduction = ovality_factor(ovality_percent) ** (1.0 if ovality_under_root else 2.0)
    stiffness_kpa2 = modulus_mpa * ground.soil_modulus_mpa * _KPA_A_MPA**2
    return float(ground.buoyancy * ground.support * reduction * stiffness_kpa2)
