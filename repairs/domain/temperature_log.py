"""Readings of a temperature, cleaned before any clock may use them.

The safe side differs. For cure colder is safe: of two readings with one stamp the
colder counts. For working time hotter is safe: there the hotter counts.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from repairs.domain.instants import utc

LOWEST_PLAUSIBLE_C = -30.0
HIGHEST_PLAUSIBLE_C = 45.0
"""A reading outside is not used: 50 is more likely °F for 10 °C than a pipe at 50 °C.

Source: common practice, none published.
"""
SPIKE_K = 5.0
"""A single reading this far from its neighbours' middle is named. Source: common practice."""
FAR_FROM_DECLARED_K = 15.0
"""No reading of a wall lies further from the declared one: is it degF? Source: common practice."""
DECLARED_DIFFERS_K = 5.0
"""A first reading this far from the declared temperature is named. Source: common practice."""
_MEDIAN_LENGTH = 3

FLAG_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "gap": "A stretch without readings is longer than allowed; it gives no credit.",
        "below_chart": "The temperature was or may be below the coldest row of the chart.",
        "above_chart": "The temperature was or may be above the hottest row of the chart.",
        "spike": "A single reading stands far off its neighbours; it gives no credit.",
        "implausible": "A reading outside -30 to 45 °C was not used; is it °F?",
        "declared_differs": "A reading is far off the declared temperature; is it °F?",
        "declared_only": "No log: the result rests on the declared temperature alone.",
        "wall_not_declared": "No wall temperature was declared; the first reading stands for it.",
        "kinetics_later": "The resin's kinetic model asks for a longer hold than chart and dose.",
        "target_not_reached": "By its kinetic model the resin does not cure at this temperature.",
        "no_temperature": "Neither a declared temperature nor a reading is known.",
        "not_begun": "The clock has not begun yet.",
        "clock_ahead": "The phone's clock runs ahead: the step lies after its receipt.",
        "clock_not_compared": "The phone never told its clock's time (header Device-Time).",
    }
)
"""Plain words for each code that a clock may return in ``flags``."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One temperature reading at an instant with offset."""

    at: datetime
    temperature_c: float


class Keep(StrEnum):
    """Which of several readings with one stamp counts."""

    COLDEST = "coldest"
    HOTTEST = "hottest"


@dataclass(frozen=True, slots=True, eq=False)
class CleanLog:
    """Readings in order, one a stamp, as minutes after an origin; and what was amiss."""

    minutes: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    flags: tuple[str, ...]


def clean(readings: Iterable[Reading], origin: datetime, until: datetime, keep: Keep) -> CleanLog:
    """Sort readings, leave one a stamp, and drop what no pipe or resin can have had.

    Parameters
    ----------
    readings
        In any order, with any duplicates.
    origin
        The instant called minute 0.
    until
        Readings after this instant are not used.
    keep
        ``coldest`` for cure, ``hottest`` for working time.

    Returns
    -------
    CleanLog
        Minutes strictly rising, negative before `origin`.

    Raises
    ------
    ValueError
        When a time has no offset or a temperature is not a finite number.
    """
    start, end = utc(origin), utc(until)
    pairs = []
    flags: tuple[str, ...] = ()
    for reading in readings:
        at = utc(reading.at, "reading")
        if not math.isfinite(reading.temperature_c):
            raise ValueError(f"reading: found {reading.temperature_c!r} °C, expected a number.")
        if at > end:
            continue
        if not LOWEST_PLAUSIBLE_C <= reading.temperature_c <= HIGHEST_PLAUSIBLE_C:
            flags = ("implausible",)
            continue
        pairs.append(((at - start).total_seconds() / 60.0, reading.temperature_c))
    minutes, temperature_c = _one_a_stamp(pairs, keep)
    return CleanLog(minutes, temperature_c, flags)


def _one_a_stamp(
    pairs: list[tuple[float, float]], keep: Keep
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    table = np.array(sorted(pairs), dtype=np.float64).reshape(-1, 2)
    minutes, temperature_c = table[:, 0], table[:, 1]
    # Sorted by stamp, then temperature: the first of a stamp is its coldest.
    changed = minutes[1:] != minutes[:-1]
    edge = np.ones(minutes.size, dtype=np.bool_)
    if keep == Keep.COLDEST:
        edge[1:] = changed
    else:
        edge[:-1] = changed
    return minutes[edge], temperature_c[edge]


def running_median(temperature_c: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the middle of each reading and its two neighbours.

    Parameters
    ----------
    temperature_c
        Readings in order.

    Returns
    -------
    NDArray
        Same length; the first and the last take the middle of the three nearest. With
        fewer than three readings they are returned as they are.

    Notes
    -----
    An order statistic is monotone: a warmer reading never lowers it. Filters that
    replace an outlier are not, and could make a warmer log give a later cure.
    """
    if temperature_c.size < _MEDIAN_LENGTH:
        return temperature_c
    before, here, after = temperature_c[:-2], temperature_c[1:-1], temperature_c[2:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    middle = np.maximum(low, np.minimum(here, high))
    return np.concatenate([middle[:1], middle, middle[-1:]])


def has_spike(temperature_c: NDArray[np.float64]) -> bool:
    """Tell whether a reading stands `SPIKE_K` or more off the running median."""
    return bool(np.any(np.abs(temperature_c - running_median(temperature_c)) >= SPIKE_K))
