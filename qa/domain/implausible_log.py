"""What in a pressure log is odd enough to ask the crew about.

Flags are questions. None of them proves anything: a good, quiet gauge trips some, and a
careful forger trips none. Nothing is corrected or converted here.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from qa.domain.copied_stretch import copied_stretch
from qa.domain.unit_guess import KPA_A_UNIT, units_that_fit
from repairs.domain.units import PSI_KPA, Dimension, words

FINE_GAUGE_KPA = 0.02 * PSI_KPA
"""A gauge as fine as this hardly ever stands still. Source: this project's simulations."""
FEWEST_STILL = 10
"""With fewer samples a still display is nothing odd. Source: common practice, no source."""
_STEP_TOLERANCE = 0.01
_LATE_S = 1.0


class LogFlag(StrEnum):
    """What may be odd."""

    TIME_BACKWARDS = "time_backwards"
    DUPLICATE_STAMP = "duplicate_stamp"
    DENSER_THAN_GAUGE = "denser_than_gauge"
    FINER_THAN_RESOLUTION = "finer_than_resolution"
    CONSTANT = "constant"
    COPIED_SEGMENT = "copied_segment"
    ENDS_BEFORE_CURE = "ends_before_cure"
    WRONG_UNIT = "wrong_unit"


class Weight(StrEnum):
    """Whether somebody should be asked, or only told."""

    QUESTION = "question"
    INFORMATION = "information"


@dataclass(frozen=True, slots=True)
class Oddity:
    """One flag in plain words, and the sample it was first seen at (None: the whole log)."""

    flag: LogFlag
    weight: Weight
    words: str
    sample: int | None = None


@dataclass(frozen=True, slots=True)
class LogContext:
    """What a log is held against; None leaves that question out.

    Parameters
    ----------
    unit
        Unit the file names, one of ``KPA_A_UNIT`` in any case.
    gauge_resolution_kpa
        Smallest step of the gauge, > 0.
    gauge_interval_s
        Shortest time between two samples the gauge can write, > 0.
    expected_kpa
        Lowest and highest pressure the repair was meant to have.
    cure_late_s
        When the cure clock's hold ends, in seconds as the log's.
    """

    unit: str
    gauge_resolution_kpa: float | None = None
    gauge_interval_s: float | None = None
    expected_kpa: tuple[float, float] | None = None
    cure_late_s: float | None = None

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        if self.unit.lower() not in {name.lower() for name in KPA_A_UNIT}:
            raise ValueError(f"unit: found {self.unit!r}, expected one of {', '.join(KPA_A_UNIT)}.")
        for name in ("gauge_resolution_kpa", "gauge_interval_s"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"{name}: found {value!r}, expected more than 0.")
        if self.expected_kpa is not None and not self.expected_kpa[0] <= self.expected_kpa[1]:
            raise ValueError(f"expected_kpa: found {self.expected_kpa!r}, expected low, high.")


def oddities(
    times_s: NDArray[np.float64], pressures_kpa: NDArray[np.float64], context: LogContext
) -> tuple[Oddity, ...]:
    """Name what is odd about a pressure log.

    Parameters
    ----------
    times_s, pressures_kpa
        Samples in the order of the file, finite.
    context
        What the log is held against.

    Returns
    -------
    tuple of Oddity
        In the order of `LogFlag`; empty for a log nobody need ask about.

    Raises
    ------
    ValueError
        When the columns differ in length or a value is not finite.

    Source
    ------
    This project; false finds were counted on simulated logs in
    tests/qa/test_implausible_log.py.

    Limits
    ------
    Questions, never proof, in either direction.
    """
    if times_s.shape != pressures_kpa.shape or times_s.ndim != 1:
        found = f"{times_s.shape} and {pressures_kpa.shape}"
        raise ValueError(f"times_s, pressures_kpa: found {found}, expected two equal columns.")
    if not (np.isfinite(times_s).all() and np.isfinite(pressures_kpa).all()):
        raise ValueError("times_s, pressures_kpa: found a value that is not a finite number.")
    if times_s.size == 0:
        return ()
    backwards = times_s[1:] < times_s[:-1]
    in_time = not backwards.any()
    order = slice(None) if in_time else np.argsort(times_s, kind="stable")
    at_s, shown_kpa = times_s[order], pressures_kpa[order]
    return (
        *_backwards(backwards),
        *_spacing(at_s, context),
        *_values(shown_kpa, context),
        *_copied(shown_kpa),
        *_ends_early(at_s, context),
        *_unit(shown_kpa, context),
    )


def _backwards(backwards: NDArray[np.bool_]) -> Iterator[Oddity]:
    count = int(np.count_nonzero(backwards))
    if count:
        text = f"The time steps back {count} time(s). Was the logger's clock set, or a file joined?"
        first = int(np.argmax(backwards)) + 1
        yield Oddity(LogFlag.TIME_BACKWARDS, Weight.QUESTION, text, first)


def _spacing(at_s: NDArray[np.float64], context: LogContext) -> Iterator[Oddity]:
    apart_s = np.diff(at_s)
    same = apart_s == 0.0
    count = int(np.count_nonzero(same))
    if count:
        text = f"{count} sample(s) have the time of another. Was the log exported twice?"
        first = int(np.argmax(same)) + 1
        yield Oddity(LogFlag.DUPLICATE_STAMP, Weight.QUESTION, text, first)
    moved_s = apart_s[~same] if count else apart_s
    if context.gauge_interval_s is None or not moved_s.size:
        return
    usual_s = float(np.median(moved_s))
    # A thousandth: stamps written with milliseconds are rounded.
    if usual_s < context.gauge_interval_s * 0.999:
        yield Oddity(
            LogFlag.DENSER_THAN_GAUGE,
            Weight.QUESTION,
            f"Samples stand {usual_s:g} s apart, but this gauge writes one every "
            f"{context.gauge_interval_s:g} s at most. Which gauge was it?",
        )


def _values(shown_kpa: NDArray[np.float64], context: LogContext) -> Iterator[Oddity]:
    step_kpa = context.gauge_resolution_kpa
    if step_kpa is None:
        return
    steps = shown_kpa / step_kpa
    between = np.abs(steps - np.rint(steps)) > _STEP_TOLERANCE
    count = int(np.count_nonzero(between))
    if count:
        yield Oddity(
            LogFlag.FINER_THAN_RESOLUTION,
            Weight.QUESTION,
            f"{count} value(s) lie between two steps of this gauge ({_p(step_kpa)}). Which gauge "
            "was it, or were the values converted or averaged?",
            int(np.argmax(between)),
        )
    if shown_kpa.size >= FEWEST_STILL and float(np.ptp(shown_kpa)) == 0.0:
        fine = step_kpa <= FINE_GAUGE_KPA * (1.0 + _STEP_TOLERANCE)
        last = (
            "Gauges as fine as this hardly ever stand still: was it connected?"
            if fine
            else "On a gauge with steps like this that is usual."
        )
        yield Oddity(
            LogFlag.CONSTANT,
            Weight.QUESTION if fine else Weight.INFORMATION,
            f"All {shown_kpa.size} values are the same, {_p(float(shown_kpa[0]))}. {last}",
        )


def _copied(shown_kpa: NDArray[np.float64]) -> Iterator[Oddity]:
    found = copied_stretch(shown_kpa)
    if found is None:
        return
    where = f"{found.samples} values from sample {found.first + 1} on appear again from sample "
    where += f"{found.second + 1} on"
    if found.is_cycle:
        text = f"{where}, over and over: a regulator that switches evenly looks like this."
        yield Oddity(LogFlag.COPIED_SEGMENT, Weight.INFORMATION, text, found.second)
    else:
        text = f"{where}, digit for digit. Was a part of the log joined twice?"
        yield Oddity(LogFlag.COPIED_SEGMENT, Weight.QUESTION, text, found.second)


def _ends_early(at_s: NDArray[np.float64], context: LogContext) -> Iterator[Oddity]:
    late_s = context.cure_late_s
    if late_s is None:
        return
    early_min = (late_s - float(at_s[-1])) / 60.0
    if early_min * 60.0 > _LATE_S:
        text = f"The log ends {early_min:.1f} min before the hold does. Is there a second file?"
        yield Oddity(LogFlag.ENDS_BEFORE_CURE, Weight.QUESTION, text, at_s.size - 1)


def _unit(shown_kpa: NDArray[np.float64], context: LogContext) -> Iterator[Oddity]:
    if context.expected_kpa is None:
        return
    low_kpa, high_kpa = context.expected_kpa
    usual_kpa = float(np.median(shown_kpa))
    if low_kpa <= usual_kpa <= high_kpa:
        return
    own = next(name for name in KPA_A_UNIT if name.lower() == context.unit.lower())
    number = usual_kpa / KPA_A_UNIT[own]
    fitting = tuple(name for name in units_that_fit(number, low_kpa, high_kpa) if name != own)
    if not fitting:
        return
    told = f"The usual value is {number:.4g}, which in {own} lies outside the repair's pressure"
    if len(fitting) == 1:
        text = f"{told}; in {fitting[0]} it would fit. Was it that unit, or was the pressure "
        text += "really so? Nothing was converted."
    else:
        text = (
            f"{told}; it would fit in {' or in '.join(fitting)}, which cannot be told apart. "
            "Was it one of them, or was the pressure really so? Nothing was converted."
        )
    yield Oddity(LogFlag.WRONG_UNIT, Weight.QUESTION, text)


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE, 2)
