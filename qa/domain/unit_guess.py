"""Which unit a log may really be in: a question to the crew, never a conversion."""

from collections.abc import Mapping
from types import MappingProxyType

from repairs.domain.inflation import WATER_KPA_PER_M
from repairs.domain.units import FOOT_M, PSI_KPA

INCH_OF_MERCURY_KPA = 3.386389
"""Rounded; mercury at 0 degC. Source: NIST SP 811 (from memory)."""

KPA_A_UNIT: Mapping[str, float] = MappingProxyType(
    {
        "psi": PSI_KPA,
        "kPa": 1.0,
        "bar": 100.0,
        "mbar": 0.1,
        "mH2O": WATER_KPA_PER_M,
        "ftH2O": WATER_KPA_PER_M * FOOT_M,
        "inHg": INCH_OF_MERCURY_KPA,
    }
)
"""What gauges of this trade may be marked in; water at 1000 kg/m3."""


def units_that_fit(number: float, low_kpa: float, high_kpa: float) -> tuple[str, ...]:
    """Name the units in which a number would lie in a range of pressure.

    Parameters
    ----------
    number
        As the gauge showed it.
    low_kpa, high_kpa
        Where the pressure was meant to be, both ends inside.

    Returns
    -------
    tuple of str
        None, one, or several that cannot be told apart.

    Source
    ------
    The units' factors; see `KPA_A_UNIT`.

    Limits
    ------
    A pressure that was wrong in the right unit may fit another by chance.
    """
    return tuple(unit for unit, kpa in KPA_A_UNIT.items() if low_kpa <= number * kpa <= high_kpa)
