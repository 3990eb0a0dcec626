"""Judges whether a pressure log stayed in its window for the whole of a time.

In this order: a sample beyond a limit by more than the gauge's accuracy fails; too
little of the time covered is incomplete; a sample nearer to a limit than the accuracy
cannot tell; everything else passed.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from qa.domain.excursions import (
    ROUNDING_KPA,
    Excursion,
    Gap,
    Window,
    excursions_of,
    silences,
    worst_a_stamp,
)
from qa.domain.pressure_csv import ParsedLog, PressureLogError, parse_pressure_csv
from repairs.domain.units import Dimension, words

__all__ = [
    "Excursion",
    "Gap",
    "ParsedLog",
    "PressureLogError",
    "WindowJudgement",
    "WindowVerdict",
    "judge_window",
    "parse_pressure_csv",
]


_SHORTEST_MIN = 0.1
"""Minutes; what is shorter is told as seconds, not as 0.0 min."""


class WindowVerdict(StrEnum):
    """What a log proves."""

    PASSED = "passed"
    FAIL = "fail"
    INCOMPLETE = "incomplete"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class WindowJudgement:
    """A verdict, and all it rests on; `lowest_kpa` is None without samples."""

    verdict: WindowVerdict
    coverage: float
    excursions: tuple[Excursion, ...]
    gaps: tuple[Gap, ...]
    lowest_kpa: float | None
    highest_kpa: float | None
    reason: str
    working: tuple[str, ...]


def judge_window(
    times_s: NDArray[np.float64],
    pressures_kpa: NDArray[np.float64],
    *,
    start_s: float,
    end_s: float,
    low_kpa: float,
    high_kpa: float,
    gauge_accuracy_kpa: float,
    longest_gap_s: float,
    required_coverage: float,
) -> WindowJudgement:
    """Judge a pressure log against a window.

    ``coverage = 1 - sum of silences longer than longest_gap / whole time``.

    Parameters
    ----------
    times_s, pressures_kpa
        Samples in any order, with any duplicates; of two with one stamp the one
        further outside counts. Only those from `start_s` to `end_s` are used.
    start_s, end_s
        The time to be judged; the silence before the first and after the last sample
        counts like any other.
    low_kpa, high_kpa
        The window, both ends inside.
    gauge_accuracy_kpa
        How far the gauge may be off, >= 0.
    longest_gap_s
        Longest silence that still counts as covered, > 0.
    required_coverage
        Share of the time that must be covered, 0 to 1.

    Returns
    -------
    WindowJudgement
        Verdict, coverage, excursions, gaps and the reason in words.

    Raises
    ------
    ValueError
        When the columns differ in length, a sample is not a number, or the window
        cannot be.

    Source
    ------
    Arithmetic; longest gap and coverage are the contract's, 60 s and 95 % are common
    practice without a source.

    Limits
    ------
    Says nothing of what the pressure did between two samples.
    """
    window = Window(
        start_s, end_s, low_kpa, high_kpa, gauge_accuracy_kpa, longest_gap_s, required_coverage
    )
    at_s, shown_kpa = worst_a_stamp(times_s, pressures_kpa, window)
    gaps = silences(at_s, window)
    silent_s = math.fsum(gap.end_s - gap.start_s for gap in gaps)
    coverage = max(0.0, 1.0 - silent_s / (end_s - start_s))
    excursions = excursions_of(at_s, shown_kpa, window)
    lowest_kpa = float(shown_kpa.min()) if shown_kpa.size else None
    highest_kpa = float(shown_kpa.max()) if shown_kpa.size else None
    extremes = None if lowest_kpa is None or highest_kpa is None else (lowest_kpa, highest_kpa)
    outside_s = math.fsum(run.end_s - run.start_s for run in excursions)
    verdict, reason = _verdict(extremes, coverage, (len(gaps), outside_s), window)
    return WindowJudgement(
        verdict=verdict,
        coverage=coverage,
        excursions=excursions,
        gaps=gaps,
        lowest_kpa=lowest_kpa,
        highest_kpa=highest_kpa,
        reason=reason,
        working=_working(window, at_s.size, coverage, (gaps, excursions)),
    )


def _verdict(
    extremes: tuple[float, float] | None,
    coverage: float,
    gaps_and_outside_s: tuple[int, float],
    window: Window,
) -> tuple[WindowVerdict, str]:
    gaps, outside_s = gaps_and_outside_s
    if extremes is None:
        return WindowVerdict.INCOMPLETE, "The log has no sample in the time to be judged."
    lowest_kpa, highest_kpa = extremes
    accuracy_kpa = window.gauge_accuracy_kpa
    below_kpa, above_kpa = window.low_kpa - lowest_kpa, highest_kpa - window.high_kpa
    # Not "from ... to": that would read as the pressure's way, and it may have fallen.
    reach = f"The lowest pressure was {_p(lowest_kpa)}, the highest {_p(highest_kpa)}"
    band = f"the window is {_p(window.low_kpa)} to {_p(window.high_kpa)}"
    if max(below_kpa, above_kpa) > accuracy_kpa + ROUNDING_KPA:
        side = "below" if below_kpa >= above_kpa else "above"
        return WindowVerdict.FAIL, (f"{reach}: {side} what is allowed{_for(outside_s)}; {band}.")
    if coverage < window.required_coverage:
        return WindowVerdict.INCOMPLETE, (
            f"The log covers {coverage:.1%} of the time, {window.required_coverage:.1%} is "
            f"required; {gaps} silence(s) longer than {window.longest_gap_s:g} s."
        )
    if max(below_kpa, above_kpa) > ROUNDING_KPA - accuracy_kpa:
        return WindowVerdict.CANNOT_TELL, (
            f"{reach}, nearer to a limit than the gauge's accuracy of {_p(accuracy_kpa)}: {band}."
        )
    return WindowVerdict.PASSED, f"{reach}: always inside; {band}. Covered: {coverage:.1%}."


def _for(outside_s: float) -> str:
    """Say how long it was outside, as the lines between samples tell it."""
    if outside_s <= 0.0:
        return ", in one sample"
    minutes = outside_s / 60.0
    return f", outside for about {minutes:.1f} min" if minutes >= _SHORTEST_MIN else ", for seconds"


def _working(
    window: Window,
    samples: int,
    coverage: float,
    found: tuple[tuple[Gap, ...], tuple[Excursion, ...]],
) -> tuple[str, ...]:
    gaps, excursions = found
    whole_s = window.end_s - window.start_s
    silent_s = math.fsum(gap.end_s - gap.start_s for gap in gaps)
    lines = [
        f"{samples} samples in {whole_s / 60.0:.1f} min.",
        (
            f"Coverage = 1 - {silent_s:.1f} s in {len(gaps)} silence(s) longer than "
            f"{window.longest_gap_s:g} s / {whole_s:.1f} s = {coverage:.4f}."
        ),
        f"Outside the window: {len(excursions)} time(s).",
    ]
    if excursions:
        worst = max(excursions, key=lambda run: run.until_next_good_s - run.start_s)
        lines.append(
            f"Longest: from {(worst.start_s - window.start_s) / 60.0:.2f} to "
            f"{(worst.end_s - window.start_s) / 60.0:.2f} min after the start, back inside at the "
            f"latest at {(worst.until_next_good_s - window.start_s) / 60.0:.2f} min; "
            f"{_p(worst.lowest_kpa)} to {_p(worst.highest_kpa)}."
        )
    return tuple(lines)


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE)
