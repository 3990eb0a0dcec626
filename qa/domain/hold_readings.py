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
    """What a gauge showed, and beside it air temperature and barometer where they were read."""

    pressure_kpa: float
    temperature_c: float | None = None
    barometer_kpa: float | None = None


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
    has_barometer: bool = False
    dropped: int = 0
    """Readings that had the stamp of a worse one."""

    @property
    def span_min(self) -> float:
        """Minutes from the first to the last reading."""
        return float(self.minutes[-1] - self.minutes[0])


def in_order(inputs: HoldTestInputs) -> HoldSeries:
    """Sort the readings, one a stamp, and compensate them where all have a temperature."""
    pairs = sorted(
        ((utc(at), reading) for at, reading in zip(inputs.times, inputs.readings, strict=True)),
        key=lambda pair: (
            pair[0],
            pair[1].pressure_kpa,
            pair[1].temperature_c or 0.0,
            pair[1].barometer_kpa or 0.0,
        ),
    )
    # Of readings with one stamp the worse counts: the highest where the test begins, so that
    # the fall from it is seen, and the lowest from then on.
    begun = [pair for pair in pairs if pair[0] == pairs[0][0]]
    later = pairs[len(begun) :]
    kept = [begun[-1]] + [
        pair for index, pair in enumerate(later) if not index or pair[0] > later[index - 1][0]
    ]
    start = kept[0][0]
    shown = [reading.pressure_kpa for _, reading in kept]
    temperatures = [reading.temperature_c for _, reading in kept]
    barometers = [reading.barometer_kpa for _, reading in kept]
    return HoldSeries(
        minutes=np.array([(at - start).total_seconds() / 60.0 for at, _ in kept]),
        shown_kpa=np.array(shown),
        compensated_kpa=np.array(_compensated(shown, temperatures, barometers, inputs)),
        has_temperature=None not in temperatures,
        has_barometer=None not in barometers,
        dropped=len(pairs) - len(kept),
    )


def _compensated(
    shown: list[float],
    temperatures: list[float | None],
    barometers: list[float | None],
    inputs: HoldTestInputs,
) -> list[float]:
    """Compensate for what was read with every reading, and for nothing else."""
    air_c = [each for each in temperatures if each is not None]
    around_kpa = [each for each in barometers if each is not None]
    if len(air_c) < len(shown) and len(around_kpa) < len(shown):
        return shown
    # One temperature, or one barometer, for all of them compensates nothing.
    air_c = air_c if len(air_c) == len(shown) else [0.0] * len(shown)
    around_kpa = (
        around_kpa if len(around_kpa) == len(shown) else [inputs.atmospheric_kpa] * len(shown)
    )
    return [
        compensated_kpa(pressure, temperature, air_c[0], around, around_kpa[0])
        for pressure, temperature, around in zip(shown, air_c, around_kpa, strict=True)
    ]


def compensated_kpa(
    pressure_kpa: float,
    temperature_c: float,
    reference_c: float,
    atmospheric_kpa: float,
    reference_atmospheric_kpa: float | None = None,
) -> float:
    """Return what the gauge would show at `reference_c` with the same air in the packer.

    Parameters
    ----------
    pressure_kpa
        As the gauge showed it.
    temperature_c, atmospheric_kpa
        Of the air in the packer, and around it, at that moment.
    reference_c, reference_atmospheric_kpa
        What they are brought back to; without the last the barometer is left alone.

    Returns
    -------
    float
        Gauge pressure in kPa. A rise of temperature is taken off, a rise of the
        barometer, which makes a gauge show less, is added.

    Source
    ------
    Gas law at constant volume: 1 K is 0.46 kPa (0.067 psi) at 34.5 kPa (5 psi) and 20 °C.
    One manual prints the temperature's sign the other way round; the gas law decides.
    """
    ratio = (reference_c + ZERO_C_IN_K) / (temperature_c + ZERO_C_IN_K)
    back_to_kpa = (
        atmospheric_kpa if reference_atmospheric_kpa is None else reference_atmospheric_kpa
    )
    return (pressure_kpa + atmospheric_kpa) * ratio - back_to_kpa


def _refuse_reading(reading: HoldReading, atmospheric_kpa: float) -> None:
    if not (math.isfinite(reading.pressure_kpa) and reading.pressure_kpa > -atmospheric_kpa):
        found = repr(reading.pressure_kpa)
        raise ValueError(f"pressure_kpa: found {found}, expected a gauge pressure.")
    if reading.temperature_c is not None and not (
        math.isfinite(reading.temperature_c) and reading.temperature_c > -ZERO_C_IN_K
    ):
        raise ValueError(f"temperature_c: found {reading.temperature_c!r}, expected a number.")
    if reading.barometer_kpa is not None and not (
        math.isfinite(reading.barometer_kpa) and reading.barometer_kpa > 0.0
    ):
        raise ValueError(f"barometer_kpa: found {reading.barometer_kpa!r}, expected more than 0.")
