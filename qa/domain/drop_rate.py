"""How fast a gauge falls, as an interval that stays honest on a coarse gauge.

The middle of all slopes between two readings (Theil-Sen) is robust, but its usual
interval is far too narrow where the gauge shows few digits or its noise is slow. So
it is widened by the correlation of the residuals and by the gauge's resolution, and
joined with the set of all rates that the shown digits allow.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

FEWEST_READINGS = 2
"""A slope needs a start and an end."""
MOST_POINTS = 300
"""Slopes of all pairs cost the square of the points: longer logs are binned to medians."""
CONFIDENCE = 0.95
_MOST_CORRELATED = 0.97
"""Residuals more alike than this leave nothing to estimate from."""
_NORMAL_95 = NormalDist().inv_cdf((1.0 + CONFIDENCE) / 2.0)
_FEWEST_FREE = 1.0


@dataclass(frozen=True, slots=True)
class DropRate:
    """Fall of pressure, positive when it falls, and the interval it must lie in."""

    best_kpa_per_min: float
    lowest_kpa_per_min: float
    highest_kpa_per_min: float


def drop_rate(
    minutes: NDArray[np.float64], pressures_kpa: NDArray[np.float64], resolution_kpa: float
) -> DropRate:
    """Estimate how fast the pressure falls.

    Parameters
    ----------
    minutes
        Strictly rising times, at least two.
    pressures_kpa
        Shown pressures, compensated for temperature where it was logged.
    resolution_kpa
        Smallest step of the gauge, >= 0.

    Returns
    -------
    DropRate
        Best rate, and an interval meant to hold the true one in 95 of 100 cases.

    Raises
    ------
    ValueError
        When there are fewer than two times, or they do not rise.

    Source
    ------
    Theil-Sen slope with Kendall's variance; effective sample size of a first-order
    autoregression; rounding set: two readings each off by at most half a step. Coverage
    was simulated: see tests/qa/test_drop_rate.py.

    Limits
    ------
    On a coarse gauge this interval alone can still take a leak of less than 1.5 times
    the allowed one for none; `qa.domain.hold_test` therefore asks `qa.domain.moved_display`.
    """
    if minutes.size < FEWEST_READINGS or minutes.shape != pressures_kpa.shape:
        raise ValueError(f"minutes: found {minutes.size}, expected at least two, one a pressure.")
    if not np.all(np.diff(minutes) > 0.0):
        raise ValueError("minutes: found a time not after the one before, expected rising times.")
    at_min, shown_kpa = _binned(minutes, pressures_kpa)
    first, second = np.triu_indices(at_min.size, k=1)
    apart_min = at_min[second] - at_min[first]
    fall_kpa = shown_kpa[first] - shown_kpa[second]
    rates = np.sort(fall_kpa / apart_min)
    best = float(np.median(rates))
    low, high = _theil_sen_ends(rates, at_min, shown_kpa, best)
    step = resolution_kpa / float(at_min[-1] - at_min[0])
    low, high = low - step, high + step
    rounded_low = float(np.max((fall_kpa - resolution_kpa) / apart_min))
    rounded_high = float(np.min((fall_kpa + resolution_kpa) / apart_min))
    if rounded_low <= rounded_high:
        low, high = min(low, rounded_low), max(high, rounded_high)
    return DropRate(best, low, high)


def digit_moves_probability(
    drop_kpa_per_min: float, duration_min: float, resolution_kpa: float
) -> float:
    """Return the chance that a steady leak moves the last digit: ``min(1, L t / r)``.

    Raises
    ------
    ValueError
        When a figure is negative, or the resolution is not above 0.

    Source
    ------
    Uniform place of the true pressure within one step; simulated 200,000 times.
    """
    if drop_kpa_per_min < 0.0 or duration_min < 0.0 or not resolution_kpa > 0.0:
        raise ValueError("found a negative figure or no resolution, expected 0 or more, and more.")
    return min(1.0, drop_kpa_per_min * duration_min / resolution_kpa)


def independent_share(minutes: NDArray[np.float64], pressures_kpa: NDArray[np.float64]) -> float:
    """Return which share of the readings counts as independent of the ones before.

    Parameters
    ----------
    minutes, pressures_kpa
        As `drop_rate` takes them; at most a few hundred.

    Returns
    -------
    float
        1 for readings whose deviations have nothing to do with each other, near 0 for
        ones that wander slowly.

    Source
    ------
    Effective sample size of a first-order autoregression, about the Theil-Sen slope.
    """
    first, second = np.triu_indices(minutes.size, k=1)
    rates = (pressures_kpa[first] - pressures_kpa[second]) / (minutes[second] - minutes[first])
    level_kpa = pressures_kpa + float(np.median(rates)) * minutes
    return _effective_count(level_kpa) / minutes.size


def _binned(
    minutes: NDArray[np.float64], pressures_kpa: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if minutes.size <= MOST_POINTS:
        return minutes, pressures_kpa
    # First and last reading stay: bins alone would shorten the test, and prove less than it did.
    inner = zip(
        np.array_split(minutes[1:-1], MOST_POINTS - 2),
        np.array_split(pressures_kpa[1:-1], MOST_POINTS - 2),
        strict=True,
    )
    medians = np.array([(np.median(when), np.median(shown)) for when, shown in inner])
    ends = np.column_stack((minutes[[0, -1]], pressures_kpa[[0, -1]]))
    points = np.vstack((ends[:1], medians, ends[1:]))
    return points[:, 0], points[:, 1]


def _theil_sen_ends(
    rates: NDArray[np.float64],
    at_min: NDArray[np.float64],
    shown_kpa: NDArray[np.float64],
    best: float,
) -> tuple[float, float]:
    """Take the order statistics of the sorted rates that Kendall's variance names."""
    count = at_min.size
    effective = _effective_count(shown_kpa + best * at_min)
    spread = _student_95(max(effective - 2.0, _FEWEST_FREE)) * math.sqrt(
        count * (count - 1) * (2 * count + 5) / 18.0 * count / effective
    )
    low = math.floor((rates.size - spread) / 2.0)
    high = math.ceil((rates.size + spread) / 2.0)
    return float(rates[max(low, 0)]), float(rates[min(high, rates.size - 1)])


def _effective_count(level_kpa: NDArray[np.float64]) -> float:
    """Return how many independent readings correlated ones are worth; their fall is taken off."""
    count = level_kpa.size
    residuals = level_kpa - np.median(level_kpa)
    power = float(np.dot(residuals, residuals))
    if power == 0.0:
        return float(count)
    correlation = float(np.dot(residuals[1:], residuals[:-1])) / power
    # Estimated from few residuals about a fitted line it comes out too small.
    correlation += (2.0 + 4.0 * correlation) / count
    correlation = min(max(correlation, 0.0), _MOST_CORRELATED)
    return max(2.0, count * (1.0 - correlation) / (1.0 + correlation))


def _student_95(free: float) -> float:
    """Approximate Student's two-sided 95 % point by its expansion in 1/n (4.17 for 4.30 at 2)."""
    z = _NORMAL_95
    first = (z**3 + z) / 4.0
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96.0
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384.0
    return z + first / free + second / free**2 + third / free**3
