"""Whether a display that moved by a digit shows the leak, or only its own noise.

A coarse gauge near the edge between two digits flickers although nothing leaks. A leak
moves the share of the lower digit steadily from none to all; noise alone keeps it where
it is. So the digits are compared with both: how likely they are with the allowed leak or
more, and how likely with less.
"""

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from qa.domain.drop_rate import independent_share

PROVES = 5.41
"""Twice the log of the likelihood ratio above which the smaller leak is taken as shown.

Source: 99 % one-sided point of chi-squared with one degree of freedom (from memory).
"""
MOST_READINGS = 300
"""More are thinned evenly: a digit too many costs time and proves little."""
_LESS = (-0.5, 0.0, 0.25, 0.5, 0.75)
_AS_MUCH_OR_MORE = (1.0, 1.25, 1.5, 2.0, 3.0)
"""Leaks that are tried, as multiples of the allowed one."""
_NOISES = (0.03, 0.06, 0.1, 0.15, 0.22, 0.33, 0.5, 0.8)
"""Noises that are tried, in steps of the gauge: nobody knows a gauge's noise beforehand."""
_LEVELS_A_STEP = 20
_LOGISTIC = 1.702
"""Makes a logistic curve as wide as a normal one; its tails are heavier, so an odd digit
never proves much. Common practice, no source."""
_LEAST_LIKELY = 1e-12
_LARGEST_POWER = 500.0


def shows_less(
    minutes: NDArray[np.float64],
    shown_kpa: NDArray[np.float64],
    drift_kpa: NDArray[np.float64],
    *,
    resolution_kpa: float,
    limit_kpa_per_min: float,
) -> bool:
    """Tell whether the shown digits speak for a leak below the limit, clearly enough.

    Parameters
    ----------
    minutes
        Strictly rising times, at least two.
    shown_kpa
        What the gauge showed, in whole steps.
    drift_kpa
        What temperature and barometer did to each reading, 0 where they were not read.
    resolution_kpa
        Smallest step of the gauge, > 0.
    limit_kpa_per_min
        The leak that has to be excluded; 0 or less can't be.

    Returns
    -------
    bool
        True when the best fit with a smaller leak is more likely than the best with this
        leak or more, by `PROVES`, discounted where the readings resemble each other.

    Source
    ------
    Likelihood ratio with interval-censored readings; simulated with known leaks in
    tests/qa/test_moved_display.py.

    Limits
    ------
    Leak, noise and level are tried on a grid. It is meant beside the interval of
    `qa.domain.drop_rate`, never instead of it.
    """
    if limit_kpa_per_min <= 0.0:
        return False
    thin = slice(None, None, math.ceil(minutes.size / MOST_READINGS))
    minutes, shown_kpa, drift_kpa = minutes[thin], shown_kpa[thin], drift_kpa[thin]
    digits = _Digits(minutes, shown_kpa, drift_kpa, resolution_kpa)
    less = digits.best_fit(limit_kpa_per_min * share for share in _LESS)
    more = digits.best_fit(limit_kpa_per_min * share for share in _AS_MUCH_OR_MORE)
    alike = independent_share(minutes, shown_kpa - drift_kpa)
    return 2.0 * (less - more) * alike > PROVES


class _Digits:
    """The readings about the middle of the test, in steps of the gauge."""

    def __init__(
        self,
        minutes: NDArray[np.float64],
        shown_kpa: NDArray[np.float64],
        drift_kpa: NDArray[np.float64],
        resolution_kpa: float,
    ) -> None:
        self._from_middle_min = minutes - minutes.mean()
        self._drift = drift_kpa / resolution_kpa
        self._shown = shown_kpa / resolution_kpa
        self._step_kpa = resolution_kpa
        level = self._shown - self._drift
        self._levels = np.arange(level.min() - 1.0, level.max() + 1.0, 1.0 / _LEVELS_A_STEP)

    def best_fit(self, leaks_kpa_per_min: Iterable[float]) -> float:
        """Return the log-likelihood of the digits with the best of these leaks."""
        return max(
            self._log_likelihood(leak / self._step_kpa, noise)
            for leak in leaks_kpa_per_min
            for noise in _NOISES
        )

    def _log_likelihood(self, leak_steps_per_min: float, noise_steps: float) -> float:
        """Return that of the best level; each digit stands for all values that round to it."""
        true = self._levels[:, None] - leak_steps_per_min * self._from_middle_min + self._drift
        off = np.abs(self._shown - true)
        sharp = _LOGISTIC / noise_steps
        chance = _beyond((off - 0.5) * sharp) - _beyond((off + 0.5) * sharp)
        return float(np.log(np.maximum(chance, _LEAST_LIKELY)).sum(axis=1).max())


def _beyond(width: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the share of a logistic curve that lies beyond `width`."""
    bounded = np.clip(width, -_LARGEST_POWER, _LARGEST_POWER)
    share: NDArray[np.float64] = 1.0 / (1.0 + np.exp(bounded))
    return share
