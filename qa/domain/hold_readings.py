"""A hold test as recorded: readings of gauge and air, in order and compensated."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Self

import numpy as np
from numpy.typing import NDArray

from repairs.domain.instants import utc
from repairs.domain.units import ZERO_C_IN_K

STANDARD_ATMOSPHERE_KPA = 101.325
"""Pressure of the air when no barometer was read. Exact by definition (from memory)."""


@dataclass(frozen=True, slots=True)
class HoldReading:
    """What a gauge showed, and the air temperature beside it where it was read."""

    pressure_kpa: float
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class HoldTestInputs:
    """A hold test as recorded, and what it has to prove.

    Parameters
    ----------
    times
        Instants of the readings, in any order.
    readings
        Gauge pressures at those times; two are enough (start and end).
    required_duration_s
        How long the test must last, > 0.
    allowed_drop_kpa_per_min
        The contract's allowed drop, > 0.
    gauge_resolution_kpa
        Smallest step of the gauge, > 0.
    test_pressure_low_kpa
        Lowest pressure at which the test counts.
    temperature_uncertainty_k
        How far the change of the air's temperature may be off: a sensor's error where
        it was read, the unseen change where it was not. 0 leaves it out.
    atmospheric_kpa
        Pressure of the air around.
    """

    times: tuple[datetime, ...]
    readings: tuple[HoldReading, ...]
    required_duration_s: float
    allowed_drop_kpa_per_min: float
    gauge_resolution_kpa: float
    test_pressure_low_kpa: float
    temperature_uncertainty_k: float = 0.0
    atmospheric_kpa: float = STANDARD_ATMOSPHERE_KPA

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name in (
            "required_duration_s",
            "allowed_drop_kpa_per_min",
            "gauge_resolution_kpa",
            "atmospheric_kpa",
        ):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"{name}: found {value!r}, expected more than 0.")
        if not (
            math.isfinite(self.temperature_uncertainty_k) and self.temperature_uncertainty_k >= 0.0
        ):
            found = repr(self.temperature_uncertainty_k)
            raise ValueError(f"temperature_uncertainty_k: found {found}, expected 0 or more.")
        if len(self.times) != len(self.readings):
            found = f"{len(self.times)} and {len(self.readings)}"
            raise ValueError(f"times, readings: found {found}, expected as many of both.")
        for reading in self.readings:
            _refuse_reading(reading, self.atmospheric_kpa)

    @classmethod
    def from_two_readings(
        cls,
        *,
        end_at: datetime,
        duration_min: float,
        start: HoldReading,
        end: HoldReading,
        required_duration_min: float,
        allowed_drop_kpa_per_min: float,
        gauge_resolution_kpa: float,
        pressure_low_kpa: float,
        temperature_uncertainty_k: float = 0.0,
    ) -> Self:
        """Take a test as crews often record it: a reading at its start and one at its end."""
        return cls(
            times=(end_at - timedelta(minutes=duration_min), end_at),
            readings=(start, end),
            required_duration_s=required_duration_min * 60.0,
            allowed_drop_kpa_per_min=allowed_drop_kpa_per_min,
            gauge_resolution_kpa=gauge_resolution_kpa,
            test_pressure_low_kpa=pressure_low_kpa,
            temperature_uncertainty_k=temperature_uncertainty_k,
        )


@dataclass(frozen=True, slots=True, eq=False)
class HoldSeries:
    """Readings in order, one a stamp, as minutes after the first."""

    minutes: NDArray[np.float64]
    shown_kpa: NDArray[np.float64]
    compensated_kpa: NDArray[np.float64]
    has_temperature: bool

    @property
    def span_min(self) -> float:
        """Minutes from the first to the last reading."""
        return float(self.minutes[-1] - self.minutes[0])


def in_order(inputs: HoldTestInputs) -> HoldSeries:
    """Sort the readings, one a stamp, and compensate them where all have a temperature."""
    # Of two readings with one stamp the lower counts: it is the worse.
    pairs = sorted(
        ((utc(at), reading) for at, reading in zip(inputs.times, inputs.readings, strict=True)),
        key=lambda pair: (pair[0], pair[1].pressure_kpa, pair[1].temperature_c or 0.0),
    )
    kept = [pair for index, pair in enumerate(pairs) if not index or pair[0] > pairs[index - 1][0]]
    start = kept[0][0]
    temperatures = [reading.temperature_c for _, reading in kept]
    known = [temperature for temperature in temperatures if temperature is not None]
    has_temperature = len(known) == len(temperatures)
    shown = [reading.pressure_kpa for _, reading in kept]
    compensated = (
        [
            compensated_kpa(pressure, temperature, known[0], inputs.atmospheric_kpa)
            for pressure, temperature in zip(shown, known, strict=True)
        ]
        if has_temperature
        else shown
    )
    return HoldSeries(
        minutes=np.array([(at - start).total_seconds() / 60.0 for at, _ in kept]),
        shown_kpa=np.array(shown),
        compensated_kpa=np.array(compensated),
        has_temperature=has_temperature,
    )


def compensated_kpa(
    pressure_kpa: float, temperature_c: float, reference_c: float, atmospheric_kpa: float
) -> float:
    """Return what the gauge would show at `reference_c` with the same air in the packer.

    Source
    ------
    Gas law at constant volume: 1 K is 0.46 kPa (0.067 psi) at 34.5 kPa (5 psi) and 20 °C.
    """
    ratio = (reference_c + ZERO_C_IN_K) / (temperature_c + ZERO_C_IN_K)
    return (pressure_kpa + atmospheric_kpa) * ratio - atmospheric_kpa


def _refuse_reading(reading: HoldReading, atmospheric_kpa: float) -> None:
    if not (math.isfinite(reading.pressure_kpa) and reading.pressure_kpa > -atmospheric_kpa):
        found = repr(reading.pressure_kpa)
        raise ValueError(f"pressure_kpa: found {found}, expected a gauge pressure.")
    if reading.temperature_c is not None and not (
        math.isfinite(reading.temperature_c) and reading.temperature_c > -ZERO_C_IN_K
    ):
        raise ValueError(f"temperature_c: found {reading.temperature_c!r}, expected a number.")
