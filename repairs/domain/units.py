"""Turns quantities given in the usual units into SI, and SI back into both.

Units are converted once, at the edge. Inside, a number's name carries its unit:
``_m``, ``_mm``, ``_kpa`` (gauge), ``_c``, ``_k``, ``_kg``, ``_l``, ``_min``.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Context
from enum import StrEnum
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

FOOT_M = 0.3048
"""One international foot. Exact. Source: NIST SP 811, appendix B.8 (read in an extract)."""
INCH_MM = 25.4
"""One inch. Exact. Source: as for the foot."""
POUND_KG = 0.45359237
"""One avoirdupois pound. Exact. Source: NIST SP 811 (from memory)."""
STANDARD_GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall. Exact. Source: SI brochure (from memory)."""
PSI_KPA = POUND_KG * STANDARD_GRAVITY_M_S2 / 0.0254**2 / 1000.0
"""One pound-force per square inch: the exact quotient (6.894757 kPa read, rounded)."""
US_GALLON_L = 231 * 0.254**3
"""One US gallon is 231 cubic inches, exactly (3.785412 L read, rounded)."""
ZERO_C_IN_K = 273.15
"""0 degC in kelvin. Exact. Source: NIST SP 811, appendix B.8 (read in an extract)."""
GAS_CONSTANT_J_MOL_K = 8.31446261815324
"""Molar gas constant. Exact since 2019. Source: SI brochure (from memory)."""

_SHOWN_DIGITS = 6
"""Significant digits of a US figure: below any instrument here, above rounding noise."""

_BOUND_DIGITS = 4
"""Significant digits of a bound that is told to somebody."""


class Dimension(StrEnum):
    """What a quantity measures; each has one SI unit inside the program."""

    LENGTH = "length"
    DIAMETER = "diameter"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    MASS = "mass"
    VOLUME = "volume"
    DURATION = "duration"
    DENSITY = "density"


class UsQuantity(TypedDict):
    """A value in the unit a US crew reads."""

    value: float
    unit: str


class RenderedQuantity(TypedDict):
    """A value in SI, and beside it the US one."""

    value: float
    unit: str
    us: UsQuantity


@dataclass(frozen=True, slots=True)
class Unit:
    """How one unit becomes the inside unit: ``(value + shift) * factor / divisor``."""

    factor: float = 1.0
    divisor: float = 1.0
    shift: float = 0.0


_FAHRENHEIT = Unit(divisor=1.8, shift=-32.0)
_CELSIUS = Unit()

_UNITS: Mapping[Dimension, Mapping[str, Unit]] = {
    Dimension.LENGTH: {
        "m": Unit(),
        "mm": Unit(divisor=1000.0),
        "cm": Unit(divisor=100.0),
        "ft": Unit(FOOT_M),
        "in": Unit(INCH_MM, 1000.0),
    },
    Dimension.DIAMETER: {
        "mm": Unit(),
        "cm": Unit(10.0),
        "m": Unit(1000.0),
        "in": Unit(INCH_MM),
        "ft": Unit(FOOT_M * 1000.0),
    },
    Dimension.PRESSURE: {
        "kPa": Unit(),
        "Pa": Unit(divisor=1000.0),
        "bar": Unit(100.0),
        "mbar": Unit(divisor=10.0),
        "psi": Unit(PSI_KPA),
    },
    Dimension.TEMPERATURE: {
        "degC": _CELSIUS,
        "°C": _CELSIUS,
        "C": _CELSIUS,
        "degF": _FAHRENHEIT,
        "°F": _FAHRENHEIT,
        "F": _FAHRENHEIT,
        "K": Unit(shift=-ZERO_C_IN_K),
    },
    # A difference of 10 degF is 5.56 K: here the 32 must not be taken off.
    Dimension.TEMPERATURE_DIFFERENCE: {
        "K": Unit(),
        "degC": Unit(),
        "°C": Unit(),
        "C": Unit(),
        "degF": Unit(divisor=1.8),
        "°F": Unit(divisor=1.8),
        "F": Unit(divisor=1.8),
    },
    Dimension.MASS: {"kg": Unit(), "g": Unit(divisor=1000.0), "lb": Unit(POUND_KG)},
    Dimension.VOLUME: {
        "L": Unit(),
        "mL": Unit(divisor=1000.0),
        "m3": Unit(1000.0),
        "gal": Unit(US_GALLON_L),
    },
    Dimension.DURATION: {"min": Unit(), "s": Unit(divisor=60.0), "h": Unit(60.0)},
    Dimension.DENSITY: {
        "kg/m3": Unit(),
        "kg/L": Unit(1000.0),
        "g/cm3": Unit(1000.0),
        "lb/gal": Unit(POUND_KG * 1000.0, US_GALLON_L),
        "lb/ft3": Unit(POUND_KG, FOOT_M**3),
    },
}

_MILLI = frozenset({"mm", "mL", "mbar"})
"""Here the m is a prefix, and a capital M would mean a million: not taken for a thousandth."""

_SHOWN: Mapping[Dimension, tuple[str, str]] = {
    Dimension.LENGTH: ("m", "ft"),
    Dimension.DIAMETER: ("mm", "in"),
    Dimension.PRESSURE: ("kPa", "psi"),
    Dimension.TEMPERATURE: ("°C", "°F"),
    Dimension.TEMPERATURE_DIFFERENCE: ("K", "°F"),
    Dimension.MASS: ("kg", "lb"),
    Dimension.VOLUME: ("L", "gal"),
    Dimension.DURATION: ("min", "min"),
    Dimension.DENSITY: ("kg/m3", "lb/gal"),
}


def parse(value: float, unit: str, dimension: Dimension | str) -> float:
    """Convert a value in `unit` to the inside unit of its dimension.

    Parameters
    ----------
    value
        The number as given; finite.
    unit
        Its unit as in ``accepted_units``, in any case (``PSI``, ``kpa``) where that is
        not ambiguous: ``Mbar`` would be a million bars.
    dimension
        What is measured.

    Returns
    -------
    float
        The value in m, mm, kPa gauge, degC, K, kg, L, min or kg/m3.

    Raises
    ------
    ValueError
        When the unit does not belong to the dimension, the value is not a finite
        number, or a temperature lies below absolute zero.

    Source
    ------
    NIST SP 811, appendix B.8.
    """
    known = Dimension(dimension)
    if not math.isfinite(value):
        raise ValueError(f"{known}: found {value!r}, expected a finite number.")
    found = _unit(unit, known)
    inside = (value + found.shift) * found.factor / found.divisor
    if not math.isfinite(inside):
        raise ValueError(f"{known}: found {value!r} {unit}, expected a number of usual size.")
    if known is Dimension.TEMPERATURE and inside < -ZERO_C_IN_K:
        raise ValueError(f"{known}: found {value!r} {unit}, expected above absolute zero.")
    return inside


def parse_array(
    values: NDArray[np.float64], unit: str, dimension: Dimension | str
) -> NDArray[np.float64]:
    """Convert a column of values at once; the caller has checked that they are finite."""
    found = _unit(unit, Dimension(dimension))
    return np.asarray((values + found.shift) * found.factor / found.divisor, dtype=np.float64)


def render(value_si: float, dimension: Dimension | str) -> RenderedQuantity:
    """Write an inside value as it leaves by the API: SI, and the US unit beside it.

    Parameters
    ----------
    value_si
        The value in the inside unit of its dimension; finite.
    dimension
        What is measured.

    Returns
    -------
    RenderedQuantity
        ``{"value", "unit", "us": {"value", "unit"}}``; the US figure has six digits.

    Raises
    ------
    ValueError
        When the value is not a finite number.
    """
    known = Dimension(dimension)
    if not math.isfinite(value_si):
        raise ValueError(f"{known}: found {value_si!r}, expected a finite number.")
    si_unit, us_unit = _SHOWN[known]
    us_value = float(f"{_in_unit(value_si, us_unit, known):.{_SHOWN_DIGITS}g}")
    return {"value": value_si, "unit": si_unit, "us": {"value": us_value, "unit": us_unit}}


def words(value_si: float, dimension: Dimension | str, digits: int = 1) -> str:
    """Write an inside value for people, for example ``31.0 kPa (4.50 psi)``."""
    known = Dimension(dimension)
    si_unit, us_unit = _SHOWN[known]
    shown = f"{value_si:.{digits}f} {si_unit}"
    if us_unit == si_unit:
        return shown
    # A degree F is finer than a degree C; the other US units are coarser than the SI ones.
    us_digits = digits if us_unit == "°F" else digits + 1
    return f"{shown} ({_in_unit(value_si, us_unit, known):.{us_digits}f} {us_unit})"


def range_words(low_si: float, high_si: float, unit: str, dimension: Dimension | str) -> str:
    """Write a range in the unit somebody used, for example ``50 to 3000 mm``.

    The bounds are rounded inwards, so that a value at a bound that is shown is taken.
    """
    known = Dimension(dimension)
    low, high = (
        Context(prec=_BOUND_DIGITS, rounding=rounding).create_decimal(
            repr(_in_unit(value, unit, known))
        )
        for value, rounding in ((low_si, ROUND_CEILING), (high_si, ROUND_FLOOR))
    )
    return f"{low.normalize():f} to {high.normalize():f} {unit}"


def accepted_units(dimension: Dimension | str) -> tuple[str, ...]:
    """Name the units in which a dimension may be given."""
    return tuple(_UNITS[Dimension(dimension)])


def _unit(name: str, dimension: Dimension) -> Unit:
    units = _UNITS[dimension]
    known = next((each for each in units if _same_name(name, each)), None)
    if known is None:
        raise ValueError(f"{dimension}: found unit {name!r}, expected one of {', '.join(units)}.")
    return units[known]


def _same_name(written: str, known: str) -> bool:
    if written == known:
        return True
    return written.lower() == known.lower() and not (known in _MILLI and written[0] == "M")


def _in_unit(value_si: float, name: str, dimension: Dimension) -> float:
    unit = _unit(name, dimension)
    return value_si * unit.divisor / unit.factor - unit.shift
