"""How long a reach of pipe must hold air, after ASTM F1417 and after the clay-pipe tables.

Two criteria that stand side by side. The first allows a leak for each area of wall, at
least what 625 square feet would leak together (K); the second allows one leak for all.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from repairs.domain.air_test_working import AirTestFigures, air_test_working
from repairs.domain.inflation import WATER_KPA_PER_M
from repairs.domain.units import FOOT_M, INCH_MM, PSI_KPA

LEAK_CFM_SQFT = 0.0015
"""Allowed leak Q, cubic feet a minute and square foot of wall. Source: ASTM F1417 (read)."""
TIME_FACTOR = 0.085
"""Seconds in ``T = 0.085 D K / Q`` for 1 psi, D in inches. Source: from memory; the printed
table confirms it, and 60 / (48 x 14.7) is 0.08503."""
LENGTH_FACTOR = 0.000419
"""``K = 0.000419 D L``, D in inches, L in feet, at least 1. Source: as above; pi/12/625."""
CLAY_FACTOR_S = 0.011
"""Seconds in ``t = 0.011 D^2 L``, D in inches, L in feet. Source: inferred from a codified
ordinance's table (read), which it meets; a total of 2 cubic feet a minute gives 0.01113."""

START_ABOVE_WATER_KPA = 3.5 * PSI_KPA
"""Where timing starts, above the groundwater. Source: 30 TAC 217.57(a)(1) (read)."""
FILL_ABOVE_WATER_KPA = 4.0 * PSI_KPA
"""To what the line is filled before it settles. Source: municipal codes (read)."""
HIGHEST_KPA = 9.0 * PSI_KPA
"""Highest pressure in the line. Source: from memory; one municipal code has 10 psi (read)."""
SETTLE_MIN = 2.0
"""Least minutes between filling and timing. Source: municipal codes (read)."""
LARGEST_DIAMETER_MM = 36.0 * INCH_MM
"""From here joints are tested one by one. Source: 30 TAC 217.57(a)(1), below 36 in (read)."""


class TimedDrop(StrEnum):
    """The drop that is timed; tables exist for both, so no default."""

    HALF_PSI = "half_psi"
    ONE_PSI = "one_psi"

    @property
    def psi(self) -> float:
        """The drop in psi."""
        return 0.5 if self is TimedDrop.HALF_PSI else 1.0


class WaterDatum(StrEnum):
    """From where the contract measures the groundwater; codes differ, so no default."""

    INVERT = "invert"
    CENTRE_LINE = "centre_line"
    CROWN = "crown"


@dataclass(frozen=True, slots=True)
class AirTestInputs:
    """A reach to be tested with air.

    Parameters
    ----------
    diameter_mm
        Inside diameter, > 0.
    length_m
        Length under test, > 0.
    drop
        The drop that is timed.
    groundwater_m, groundwater_datum
        Average groundwater above the datum the contract names, >= 0.
    owner_time_s
        The contract's own time for this reach, if it has a table of its own, > 0.
    highest_kpa
        Highest gauge pressure allowed in the line, > 0.
    """

    diameter_mm: float
    length_m: float
    drop: TimedDrop
    groundwater_m: float
    groundwater_datum: WaterDatum
    owner_time_s: float | None = None
    highest_kpa: float = HIGHEST_KPA

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name in ("diameter_mm", "length_m", "owner_time_s", "highest_kpa"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"{name}: found {value!r}, expected more than 0.")
        if not (math.isfinite(self.groundwater_m) and self.groundwater_m >= 0.0):
            raise ValueError(f"groundwater_m: found {self.groundwater_m!r}, expected 0 or more.")


@dataclass(frozen=True, slots=True)
class AirTest:
    """How to test a reach with air.

    Parameters
    ----------
    time_s
        Least seconds for the drop: the longer of the practice's and the owner's.
    practice_time_s
        The practice's own, unrounded.
    fill_kpa, start_kpa, end_kpa
        Gauge pressures, groundwater included.
    feasible
        False where the groundwater would need more than the highest pressure allowed.
    flags
        ``too_large``, ``owner_time_shorter``, ``over_pressure``.
    working
        Lines as an engineer would write them.
    """

    time_s: float
    practice_time_s: float
    fill_kpa: float
    start_kpa: float
    end_kpa: float
    feasible: bool
    flags: tuple[str, ...]
    working: tuple[str, ...]


def air_test(inputs: AirTestInputs) -> AirTest:
    """Reckon time and pressures of a low-pressure air test after ASTM F1417.

    Parameters
    ----------
    inputs
        The reach, the drop and the groundwater.

    Returns
    -------
    AirTest
        Time, pressures, and what stands in the way.

    Raises
    ------
    ValueError
        By `AirTestInputs`, when a figure cannot be.

    Source
    ------
    ASTM F1417, table for 0.5 psi read in a copy, equations from memory and confirmed by
    it; docs/calculations.md, "Line air test".

    Limits
    ------
    Tests a reach of pipe; it says nothing of one sleeve, and nothing of a packer's seal.
    """
    practice_s = practice_time_s(inputs.diameter_mm, inputs.length_m, inputs.drop)
    owner_s = inputs.owner_time_s
    head_kpa = WATER_KPA_PER_M * inputs.groundwater_m
    figures = AirTestFigures(
        k=wall_factor(inputs.diameter_mm, inputs.length_m),
        practice_s=practice_s,
        time_s=practice_s if owner_s is None else max(practice_s, owner_s),
        head_kpa=head_kpa,
        fill_kpa=FILL_ABOVE_WATER_KPA + head_kpa,
        start_kpa=START_ABOVE_WATER_KPA + head_kpa,
        end_kpa=START_ABOVE_WATER_KPA + head_kpa - inputs.drop.psi * PSI_KPA,
    )
    feasible = figures.fill_kpa <= inputs.highest_kpa
    found = {
        "too_large": inputs.diameter_mm >= LARGEST_DIAMETER_MM,
        "owner_time_shorter": owner_s is not None and owner_s < practice_s,
        "over_pressure": not feasible,
    }
    return AirTest(
        time_s=figures.time_s,
        practice_time_s=practice_s,
        fill_kpa=figures.fill_kpa,
        start_kpa=figures.start_kpa,
        end_kpa=figures.end_kpa,
        feasible=feasible,
        flags=tuple(code for code, is_so in found.items() if is_so),
        working=air_test_working(
            figures,
            reach_mm_m=(inputs.diameter_mm, inputs.length_m),
            drop_psi=inputs.drop.psi,
            water=(inputs.groundwater_m, inputs.groundwater_datum.replace("_", " ")),
            owner_time_s=owner_s,
            highest_kpa=inputs.highest_kpa,
        ),
    )


def wall_factor(diameter_mm: float, length_m: float) -> float:
    """Return K, ``0.000419 D L`` and at least 1: up to 625 square feet the leak is not less."""
    return max(1.0, LENGTH_FACTOR * (diameter_mm / INCH_MM) * (length_m / FOOT_M))


def practice_time_s(diameter_mm: float, length_m: float, drop: TimedDrop) -> float:
    """Return the practice's own time, ``0.085 D K / Q`` for 1 psi and half of it for 0.5.

    Parameters
    ----------
    diameter_mm, length_m
        The reach, > 0.
    drop
        The drop that is timed.

    Returns
    -------
    float
        Seconds, unrounded; never less for a larger or longer reach.

    Source
    ------
    As for `air_test`.
    """
    one_psi_s = (
        TIME_FACTOR * (diameter_mm / INCH_MM) * wall_factor(diameter_mm, length_m) / LEAK_CFM_SQFT
    )
    return one_psi_s * drop.psi


def shortest_length_m(diameter_mm: float) -> float:
    """Return the length up to which K is 1 and the time does not depend on it."""
    return FOOT_M / (LENGTH_FACTOR * diameter_mm / INCH_MM)


def clay_pipe_time_s(diameter_mm: float, length_m: float) -> float:
    """Return the time for 1 psi by the clay-pipe tables, ``0.011 D^2 L``.

    Parameters
    ----------
    diameter_mm, length_m
        The reach, > 0.

    Returns
    -------
    float
        Seconds, unrounded: a second criterion beside `air_test`, not a part of it.

    Source
    ------
    Codified ordinance with a clay-pipe table from 3.5 to 2.5 psi (read); constant inferred.

    Limits
    ------
    Those of `air_test`; the leak allowed does not grow with the reach.
    """
    return CLAY_FACTOR_S * (diameter_mm / INCH_MM) ** 2 * (length_m / FOOT_M)
