"""Finds what in a pressure log lies outside a window, and where it is silent."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ROUNDING_KPA = 1e-6
"""A thousandth of a pascal: unit conversion must not decide a verdict."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A silence longer than allowed, edges of the judged time included."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch outside the window.

    Parameters
    ----------
    start_s, end_s
        Where straight lines between samples cross the limit, an estimate.
    until_next_good_s
        The next sample inside the window, or the end of the judged time.
    lowest_kpa, highest_kpa
        Extremes of the samples outside.
    """

    start_s: float
    end_s: float
    until_next_good_s: float
    lowest_kpa: float
    highest_kpa: float


@dataclass(frozen=True, slots=True)
class Window:
    """The question: which time, which window, how good a gauge, how much silence."""

    start_s: float
    end_s: float
    low_kpa: float
    high_kpa: float
    gauge_accuracy_kpa: float
    longest_gap_s: float
    required_coverage: float

    def __post_init__(self) -> None:
        """Refuse a question that has no answer."""
        if not self.start_s < self.end_s:
            found = f"{self.start_s!r} to {self.end_s!r}"
            raise ValueError(f"start_s, end_s: found {found}, expected an end after the start.")
        if not self.low_kpa <= self.high_kpa:
            found = f"{self.low_kpa!r} to {self.high_kpa!r}"
            raise ValueError(f"low_kpa, high_kpa: found {found}, expected low at most high.")
        if not (math.isfinite(self.gauge_accuracy_kpa) and self.gauge_accuracy_kpa >= 0.0):
            found = repr(self.gauge_accuracy_kpa)
            raise ValueError(f"gauge_accuracy_kpa: found {found}, expected 0 or more.")
        if not self.longest_gap_s > 0.0:
            raise ValueError(f"longest_gap_s: found {self.longest_gap_s!r}, expected more than 0.")
        if not 0.0 <= self.required_coverage <= 1.0:
            found = repr(self.required_coverage)
            raise ValueError(f"required_coverage: found {found}, expected 0 to 1.")


def worst_a_stamp(
    times_s: NDArray[np.float64], pressures_kpa: NDArray[np.float64], window: Window
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sort, keep what lies in the judged time, and of one stamp the sample furthest outside."""
    if times_s.shape != pressures_kpa.shape or times_s.ndim != 1:
        found = f"{times_s.shape} and {pressures_kpa.shape}"
        raise ValueError(f"times_s, pressures_kpa: found {found}, expected two equal columns.")
    if not (np.isfinite(times_s).all() and np.isfinite(pressures_kpa).all()):
        raise ValueError("times_s, pressures_kpa: found a value that is not a finite number.")
    inside = (times_s >= window.start_s) & (times_s <= window.end_s)
    at_s, shown_kpa = times_s[inside], pressures_kpa[inside]
    if at_s.size > 1 and not np.all(np.diff(at_s) > 0.0):
        outside_kpa = np.maximum(window.low_kpa - shown_kpa, shown_kpa - window.high_kpa)
        order = np.lexsort((shown_kpa, outside_kpa, at_s))
        at_s, shown_kpa = at_s[order], shown_kpa[order]
        last = np.append(at_s[1:] != at_s[:-1], np.True_)
        at_s, shown_kpa = at_s[last], shown_kpa[last]
    return at_s, shown_kpa


def silences(at_s: NDArray[np.float64], window: Window) -> tuple[Gap, ...]:
    """Find the silences longer than allowed, before the first and after the last sample too."""
    edges = np.concatenate([[window.start_s], at_s, [window.end_s]])
    long = np.flatnonzero(np.diff(edges) > window.longest_gap_s)
    return tuple(
        Gap(start_s, end_s)
        for start_s, end_s in zip(edges[long].tolist(), edges[long + 1].tolist(), strict=True)
    )


def excursions_of(
    at_s: NDArray[np.float64], shown_kpa: NDArray[np.float64], window: Window
) -> tuple[Excursion, ...]:
    """Find every run of samples outside the window, all at once."""
    bad = (shown_kpa < window.low_kpa - ROUNDING_KPA) | (shown_kpa > window.high_kpa + ROUNDING_KPA)
    if not bad.any():
        return ()
    turns = np.diff(np.concatenate([[False], bad, [False]]).astype(np.int8))
    first, after = np.flatnonzero(turns == 1), np.flatnonzero(turns == -1)
    final = at_s.size - 1
    start_s = _crossing(at_s, shown_kpa, np.maximum(first - 1, 0), first, window)
    end_s = _crossing(at_s, shown_kpa, np.minimum(after, final), after - 1, window)
    next_good_s = np.where(after <= final, at_s[np.minimum(after, final)], window.end_s)
    # Pairs (first, after) with the stretch between two runs dropped again by [::2].
    cuts = np.column_stack([first, after]).ravel()
    cuts = cuts[:-1] if cuts[-1] == at_s.size else cuts
    lowest, highest = (
        reduce(shown_kpa, cuts)[::2] for reduce in (np.minimum.reduceat, np.maximum.reduceat)
    )
    columns = (start_s, end_s, next_good_s, lowest, highest)
    return tuple(
        Excursion(*row) for row in zip(*(column.tolist() for column in columns), strict=True)
    )


def _crossing(
    at_s: NDArray[np.float64],
    shown_kpa: NDArray[np.float64],
    good: NDArray[np.intp],
    bad: NDArray[np.intp],
    window: Window,
) -> NDArray[np.float64]:
    """Return where the line from a good to a bad sample crosses the limit it breaks."""
    limit_kpa = np.where(shown_kpa[bad] < window.low_kpa, window.low_kpa, window.high_kpa)
    rise_kpa = shown_kpa[bad] - shown_kpa[good]
    # Without a good neighbour (edge of the log) both are one sample: its own time.
    share = np.where(
        good == bad, 1.0, (limit_kpa - shown_kpa[good]) / np.where(good == bad, 1.0, rise_kpa)
    )
    return np.asarray(at_s[good] + share * (at_s[bad] - at_s[good]), dtype=np.float64)
