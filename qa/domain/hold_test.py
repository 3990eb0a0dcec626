"""Judges the hold test of a packer: does it leak more than the contract allows.

"No drop in five minutes" cannot be decided as such: a contract states an allowed
drop, and a gauge has a smallest step. So there are four answers, and two of them are
that the test does not prove it.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from qa.domain.drop_rate import FEWEST_READINGS, DropRate, drop_rate
from qa.domain.hold_readings import (
    HoldReading,
    HoldSeries,
    HoldTestInputs,
    compensated_kpa,
    in_order,
)
from qa.domain.moved_display import shows_less
from repairs.domain.units import ZERO_C_IN_K, Dimension, words

__all__ = [
    "HoldReading",
    "HoldResult",
    "HoldTestInputs",
    "HoldTestJudgement",
    "compensated_kpa",
    "judge_hold_test",
    "provable",
]

COARSE_STEPS = 2.0
"""With fewer steps than this within the allowed drop a digit that moved has to be explained.

Source: this project's simulations; a limit of the method, not of any standard.
"""
_DURATION_TOLERANCE_S = 0.5
_ROUNDING = 1e-9

_CAUTION = (
    "An elastic packer changes its volume, so the temperature correction is an upper limit; "
    "a packer still fed by its regulator proves nothing."
)


class HoldResult(StrEnum):
    """What a hold test proves."""

    HOLDS = "holds"
    LEAKS = "leaks"
    CANNOT_TELL = "cannot_tell"
    INCOMPLETE = "incomplete"


@dataclass(frozen=True, slots=True)
class HoldTestJudgement:
    """What a hold test proves, and why.

    Parameters
    ----------
    slope_kpa_per_min
        Best estimate of the drop, positive when the pressure falls; None without two
        readings.
    interval_kpa_per_min
        Lowest and highest drop that the readings allow.
    """

    result: HoldResult
    slope_kpa_per_min: float | None
    interval_kpa_per_min: tuple[float, float] | None
    reason: str
    working: tuple[str, ...]


def judge_hold_test(inputs: HoldTestInputs) -> HoldTestJudgement:
    """Judge a hold test: holds, leaks, cannot tell, or incomplete.

    A leak is one when even the lowest drop the readings allow is more than the allowed
    one; a packer holds when even the highest is not. On a gauge with fewer than two
    steps within the allowed drop, the display must besides have stood still, or have
    flickered as noise does and a leak does not.

    Parameters
    ----------
    inputs
        Readings and requirement.

    Returns
    -------
    HoldTestJudgement
        The result, the drop with its interval, and the reason in words.

    Raises
    ------
    ValueError
        When a time has no offset.

    Source
    ------
    Gas law for the temperature, ``(p + pa) T0/T - pa``; docs/calculations.md, "Hold test".

    Limits
    ------
    A change of the barometer (1 hPa is 0.1 kPa) counts only where every reading has one.
    """
    if len(inputs.readings) < FEWEST_READINGS:
        reason = "A hold test needs a reading at its start and one at its end."
        return HoldTestJudgement(HoldResult.INCOMPLETE, None, None, reason, ())
    series = in_order(inputs)
    if series.minutes.size < FEWEST_READINGS:
        reason = "All readings have the same time, so no drop can be reckoned."
        return HoldTestJudgement(HoldResult.INCOMPLETE, None, None, reason, ())
    found = drop_rate(series.minutes, series.compensated_kpa, inputs.gauge_resolution_kpa)
    either_way = _temperature_kpa_per_min(series, inputs)
    rate = DropRate(
        found.best_kpa_per_min,
        found.lowest_kpa_per_min - either_way,
        found.highest_kpa_per_min + either_way,
    )
    result, reason = _verdict(inputs, series, rate)
    return HoldTestJudgement(
        result=result,
        slope_kpa_per_min=rate.best_kpa_per_min,
        interval_kpa_per_min=(rate.lowest_kpa_per_min, rate.highest_kpa_per_min),
        reason=reason,
        working=_working(inputs, series, rate),
    )


def provable(gauge_resolution_kpa: float, allowed_drop_kpa_per_min: float) -> float:
    """Return the shortest test, in minutes, in which a gauge can prove an allowed drop.

    Below ``resolution / allowed drop`` a leak just over the limit need not move a digit.

    Raises
    ------
    ValueError
        When a figure is not above 0.
    """
    if not (gauge_resolution_kpa > 0.0 and allowed_drop_kpa_per_min > 0.0):
        raise ValueError("gauge_resolution_kpa, allowed_drop_kpa_per_min: expected more than 0.")
    return gauge_resolution_kpa / allowed_drop_kpa_per_min


def _temperature_kpa_per_min(series: HoldSeries, inputs: HoldTestInputs) -> float:
    """Return what an unknown change of temperature alone could do to the gauge."""
    return _kpa_per_k(series, inputs) * inputs.temperature_uncertainty_k / series.span_min


def _kpa_per_k(series: HoldSeries, inputs: HoldTestInputs) -> float:
    reference_k = 20.0 + ZERO_C_IN_K
    return (float(series.shown_kpa.max()) + inputs.atmospheric_kpa) / reference_k


def _verdict(inputs: HoldTestInputs, series: HoldSeries, rate: DropRate) -> tuple[HoldResult, str]:
    allowed = inputs.allowed_drop_kpa_per_min
    drop = (
        f"The drop lies between {_rate(rate.lowest_kpa_per_min)} and "
        f"{_rate(rate.highest_kpa_per_min)} a minute; allowed is {_rate(allowed)}."
    )
    if rate.lowest_kpa_per_min > allowed * (1.0 + _ROUNDING):
        return HoldResult.LEAKS, drop
    missing = _what_is_missing(inputs, series)
    if missing:
        return HoldResult.INCOMPLETE, missing
    if rate.highest_kpa_per_min < 0.0:
        return HoldResult.CANNOT_TELL, "The pressure rose: is the packer still fed, or warming?"
    if rate.highest_kpa_per_min > allowed * (1.0 + _ROUNDING):
        return HoldResult.CANNOT_TELL, f"{drop} {_advice(inputs, series)}"
    if _moved_on_coarse_gauge(inputs, series) and not _is_flicker(inputs, series):
        return HoldResult.CANNOT_TELL, (
            f"The display moved, and one step of this gauge, {_p(inputs.gauge_resolution_kpa)}, "
            f"is too much of the allowed drop to tell what moved it. Note the gauge every five "
            f"seconds, test longer, or use a finer gauge. {drop}"
        )
    return HoldResult.HOLDS, drop


def _what_is_missing(inputs: HoldTestInputs, series: HoldSeries) -> str:
    first_kpa = float(series.shown_kpa[0])
    if series.span_min * 60.0 < inputs.required_duration_s - _DURATION_TOLERANCE_S:
        return (
            f"The test lasted {series.span_min:.1f} min, required are "
            f"{inputs.required_duration_s / 60.0:.1f} min."
        )
    if first_kpa < inputs.test_pressure_low_kpa - _ROUNDING:
        return (
            f"The test began at {_p(first_kpa)}, it counts from {_p(inputs.test_pressure_low_kpa)}."
        )
    return ""


def _moved_on_coarse_gauge(inputs: HoldTestInputs, series: HoldSeries) -> bool:
    step_kpa = inputs.gauge_resolution_kpa
    allowed_kpa = inputs.allowed_drop_kpa_per_min * series.span_min
    is_coarse = step_kpa * COARSE_STEPS > allowed_kpa * (1.0 + _ROUNDING)
    return is_coarse and float(np.ptp(series.shown_kpa)) > step_kpa / 2.0


def _is_flicker(inputs: HoldTestInputs, series: HoldSeries) -> bool:
    return shows_less(
        series.minutes,
        series.shown_kpa,
        series.shown_kpa - series.compensated_kpa,
        resolution_kpa=inputs.gauge_resolution_kpa,
        limit_kpa_per_min=inputs.allowed_drop_kpa_per_min
        - _temperature_kpa_per_min(series, inputs),
    )


def _advice(inputs: HoldTestInputs, series: HoldSeries) -> str:
    shortest_min = provable(inputs.gauge_resolution_kpa, inputs.allowed_drop_kpa_per_min)
    if series.span_min < shortest_min * (1.0 - _ROUNDING):
        return f"This gauge needs {shortest_min:.1f} min to prove it. Test longer or read finer."
    return "Test longer, with a finer gauge, or log the air temperature."


def _working(inputs: HoldTestInputs, series: HoldSeries, rate: DropRate) -> tuple[str, ...]:
    first_kpa, last_kpa = float(series.shown_kpa[0]), float(series.shown_kpa[-1])
    compensation = (
        f"Compensated to the first temperature by the gas law, (p + {inputs.atmospheric_kpa:.1f}) "
        f"T0/T - {inputs.atmospheric_kpa:.1f}: last {_p(float(series.compensated_kpa[-1]))}."
        if series.has_temperature
        else "No air temperature with each reading, so none is compensated: 1 K alone moves the "
        f"gauge by {_p(_kpa_per_k(series, inputs))}."
    )
    return (
        (
            f"{series.minutes.size} readings in {series.span_min:.1f} min, from {_p(first_kpa)} "
            f"to {_p(last_kpa)}, gauge step {_p(inputs.gauge_resolution_kpa)}."
        ),
        *_dropped(series),
        compensation,
        *_barometer(series),
        (
            f"Drop {_rate(rate.best_kpa_per_min)} a minute, between "
            f"{_rate(rate.lowest_kpa_per_min)} and {_rate(rate.highest_kpa_per_min)} (Theil-Sen, "
            f"widened by correlation, gauge step and {inputs.temperature_uncertainty_k:g} K)."
        ),
        (
            f"Shortest provable test = step / allowed drop = "
            f"{provable(inputs.gauge_resolution_kpa, inputs.allowed_drop_kpa_per_min):.1f} min."
        ),
        _CAUTION,
    )


def _dropped(series: HoldSeries) -> tuple[str, ...]:
    if not series.dropped:
        return ()
    return (
        f"{series.dropped} reading(s) had another's time: first the higher counts, then the lower.",
    )


def _barometer(series: HoldSeries) -> tuple[str, ...]:
    if not series.has_barometer:
        return ()
    return ("Each reading is brought back to the first barometer: what it rose is added.",)


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE, 2)


def _rate(kpa_per_min: float) -> str:
    return words(kpa_per_min, Dimension.PRESSURE, 3)
