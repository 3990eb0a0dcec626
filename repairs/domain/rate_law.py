"""How fast a resin cures at a temperature, as published kinetic models write it.

No parameters are shipped: those of one resin say nothing of another, and the published
ones were measured well above the temperature of a sewer.
"""

import math
from dataclasses import dataclass
from typing import Protocol

from repairs.domain.units import GAS_CONSTANT_J_MOL_K, ZERO_C_IN_K


class RateLaw(Protocol):
    """Anything that gives the rate of conversion."""

    def rate_per_min(self, conversion: float, temperature_c: float) -> float:
        """Return the conversion gained a minute, >= 0; 0 where the cure stands still."""
        ...


@dataclass(frozen=True, slots=True)
class VitrificationLimit:
    """Conversion at which a cure freezes, ``at_zero_c + per_k x T``, at most 1.

    Parameters
    ----------
    at_zero_c
        Conversion at 0 degC, 0 to 1.
    per_k
        What each degree adds, >= 0.
    """

    at_zero_c: float
    per_k: float

    def __post_init__(self) -> None:
        """Refuse a limit that cannot be."""
        if not 0.0 <= self.at_zero_c <= 1.0:
            raise ValueError(f"at_zero_c: found {self.at_zero_c!r}, expected 0 to 1.")
        if not (math.isfinite(self.per_k) and self.per_k >= 0.0):
            raise ValueError(f"per_k: found {self.per_k!r}, expected 0 or more.")

    def at(self, temperature_c: float) -> float:
        """Return the highest conversion at a temperature."""
        return min(max(self.at_zero_c + self.per_k * temperature_c, 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Autocatalytic:
    """``rate = (k1 + k2 a^m) (a_highest - a)^n`` with ``k = A exp(-E / RT)`` each.

    Parameters
    ----------
    factor_1_per_min, factor_2_per_min
        A1 and A2, >= 0, not both 0.
    energy_1_kj_mol, energy_2_kj_mol
        E1 and E2, >= 0.
    order_m, order_n
        m >= 0 and n > 0.
    limit
        Where the resin freezes before it is cured; None leaves the highest at 1.

    Source
    ------
    Kamal's autocatalytic model, in any text on thermosets (from memory).

    Limits
    ------
    Fits hold in the range they were measured in; the limit's form is a simplification.
    """

    factor_1_per_min: float
    energy_1_kj_mol: float
    factor_2_per_min: float
    energy_2_kj_mol: float
    order_m: float
    order_n: float
    limit: VitrificationLimit | None

    def __post_init__(self) -> None:
        """Refuse a law that cannot be."""
        for name in (
            "factor_1_per_min",
            "energy_1_kj_mol",
            "factor_2_per_min",
            "energy_2_kj_mol",
            "order_m",
        ):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0.0):
                raise ValueError(f"{name}: found {value!r}, expected 0 or more.")
        if not (math.isfinite(self.order_n) and self.order_n > 0.0):
            raise ValueError(f"order_n: found {self.order_n!r}, expected more than 0.")
        if self.factor_1_per_min == self.factor_2_per_min == 0.0:
            raise ValueError("factor_1_per_min, factor_2_per_min: found 0, expected one above 0.")

    def rate_per_min(self, conversion: float, temperature_c: float) -> float:
        """Return the conversion gained a minute."""
        inverse = 1000.0 / (GAS_CONSTANT_J_MOL_K * (temperature_c + ZERO_C_IN_K))
        done = min(max(conversion, 0.0), 1.0)
        highest = 1.0 if self.limit is None else self.limit.at(temperature_c)
        left = highest - done
        if left <= 0.0:
            return 0.0
        own = self.factor_1_per_min * math.exp(-self.energy_1_kj_mol * inverse)
        driven = self.factor_2_per_min * math.exp(-self.energy_2_kj_mol * inverse)
        return float((own + driven * done**self.order_m) * left**self.order_n)
