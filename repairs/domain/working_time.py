"""The working time: how long mixed resin may still be handled.

The exact reverse of the cure clock. Here hotter is worse, so the hotter end of each
interval counts and the tolerance is added; below the chart no credit is given for
cold; above it, or across a gap, there is no answer, because the resin may have gelled.
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np

from repairs.domain.chart import Chart, ChartRule, minutes_at, slowed
from repairs.domain.dose import Profile, interval_doses, minute_at_dose
from repairs.domain.instants import utc
from repairs.domain.temperature_log import CleanLog, Keep, Reading, clean
from repairs.domain.units import Dimension, words
from repairs.domain.working_profile import HotSide, WorkingProfile, lifted, working_profile

LONGEST_GAP_S = 900.0
"""Longest stretch between resin readings that still counts. Source: common practice."""

_CAUTION = (
    "Resin in a deep pot warms itself and gels sooner than in a thin layer: ok is necessary, "
    "not sufficient. Watch the resin, and follow the maker's instructions."
)


class WorkingStatus(StrEnum):
    """What can be said of the working time at one instant."""

    NOT_STARTED = "not_started"
    OK = "ok"
    CANNOT_TELL = "cannot_tell"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class WorkingInputs:
    """What a working time rests on.

    Parameters
    ----------
    chart
        The maker's working-time chart.
    started_at
        The instant of ``chart.clock_start``, or None when it has not come yet.
    readings
        Temperatures of the resin, in any order; may be empty.
    declared_resin_c
        Temperature of the resin declared when mixing started.
    sensor_tolerance_k
        How far the thermometer may be off, >= 0.
    longest_gap_s
        Longest stretch between readings that still counts, > 0.
    """

    chart: Chart
    started_at: datetime | None
    readings: tuple[Reading, ...]
    declared_resin_c: float | None
    sensor_tolerance_k: float
    longest_gap_s: float = LONGEST_GAP_S

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        if not (math.isfinite(self.sensor_tolerance_k) and self.sensor_tolerance_k >= 0.0):
            raise ValueError(
                f"sensor_tolerance_k: found {self.sensor_tolerance_k!r}, expected 0 or more."
            )
        if not self.longest_gap_s > 0.0:
            raise ValueError(f"longest_gap_s: found {self.longest_gap_s!r}, expected more than 0.")


@dataclass(frozen=True, slots=True)
class WorkingEstimate:
    """What can be said of the working time at one instant.

    Parameters
    ----------
    status
        ``ok`` only while even the hot side has not used the working time.
    deadline_early, deadline_best
        Instants (UTC) at which it is used up on the hot side, and as measured. The
        early one is None where the hot side is not known.
    used_low, used_high
        Share used so far, cold and hot side. With ``above_chart`` or ``gap`` among the
        flags, `used_high` is not a bound.
    flags, working
        Codes of ``FLAG_WORDS``; lines as an engineer would write them.
    """

    status: WorkingStatus
    deadline_early: datetime | None
    deadline_best: datetime | None
    used_low: float
    used_high: float
    flags: tuple[str, ...]
    working: tuple[str, ...]


def working_time(inputs: WorkingInputs, now: datetime) -> WorkingEstimate:
    """Tell how much of the working time is used, and by when the sleeve must be inflated.

    Parameters
    ----------
    inputs
        Chart, start, resin temperatures and tolerance.
    now
        The instant of the question; later readings are not used.

    Returns
    -------
    WorkingEstimate
        Status, deadlines and the shares used.

    Raises
    ------
    ValueError
        When an instant has no offset or a temperature is not a number.

    Source
    ------
    Additivity on the maker's chart; docs/calculations.md, "Working time".

    Limits
    ------
    Self-heating in the pot is not modelled.
    """
    at = utc(now, "now")
    if inputs.started_at is None:
        return _NOT_BEGUN
    started = utc(inputs.started_at, "started_at")
    elapsed_min = max((at - started).total_seconds() / 60.0, 0.0)
    until = max(at, started)
    hot, cold = (_log(inputs, started, until, keep) for keep in (Keep.HOTTEST, Keep.COLDEST))
    if not hot.minutes.size:
        status = WorkingStatus.CANNOT_TELL if at >= started else WorkingStatus.NOT_STARTED
        return replace(_NOT_BEGUN, status=status, flags=(*hot.flags, "no_temperature"))
    side = HotSide(
        has_declared=inputs.declared_resin_c is not None,
        tolerance_k=inputs.sensor_tolerance_k,
        longest_gap_min=inputs.longest_gap_s / 60.0,
    )
    profile = working_profile(hot, cold, elapsed_min, side, inputs.chart)
    estimate = _estimate(inputs, started, elapsed_min, profile)
    if at < started:
        flags = (*estimate.flags, "not_begun")
        return replace(estimate, status=WorkingStatus.NOT_STARTED, flags=flags)
    return estimate


def judge_inflation(inputs: WorkingInputs, inflated_at: datetime) -> WorkingStatus:
    """Judge whether a sleeve was inflated within the working time.

    Raises
    ------
    ValueError
        As for `working_time`.
    """
    return working_time(inputs, inflated_at).status


def _log(inputs: WorkingInputs, started: datetime, until: datetime, keep: Keep) -> CleanLog:
    """Clean the readings; the declared temperature is a reading at the clock's start."""
    declared_c = inputs.declared_resin_c
    declared = () if declared_c is None else (Reading(started, declared_c),)
    log = clean((*inputs.readings, *declared), started, until, keep)
    begun = log.minutes >= 0.0
    return CleanLog(log.minutes[begun], log.temperature_c[begun], log.flags)


def _estimate(
    inputs: WorkingInputs, started: datetime, elapsed_min: float, sides: WorkingProfile
) -> WorkingEstimate:
    chart = inputs.chart
    careful = slowed(chart, -chart.rounding_min / 2.0)
    hot, best = (lifted(side, chart.coldest_c) for side in (sides.hot, sides.best))
    used_low = _used(slowed(chart, chart.rounding_min / 2.0), sides.cold)
    used_high = _used(careful, hot)
    early_min = _deadline(careful, hot, sides.future_hot_c, used_high)
    best_min = _deadline(chart, best, sides.future_best_c, _used(chart, best))
    unknown = bool({"gap", "above_chart", "implausible"} & set(sides.flags))
    if used_low >= 1.0:
        status = WorkingStatus.OVER
    elif unknown or used_high >= 1.0:
        status = WorkingStatus.CANNOT_TELL
    else:
        status = WorkingStatus.OK
    lines = _working(inputs, sides, (elapsed_min, used_low, used_high, early_min, best_min))
    return WorkingEstimate(
        status=status,
        deadline_early=None if unknown else started + timedelta(minutes=early_min),
        deadline_best=started + timedelta(minutes=best_min),
        used_low=used_low,
        used_high=used_high,
        flags=sides.flags,
        working=lines,
    )


def _used(chart: Chart, profile: Profile) -> float:
    return float(np.sum(interval_doses(chart, profile, ChartRule.ARRHENIUS)))


def _deadline(chart: Chart, past: Profile, future_c: float, used: float) -> float:
    minute = minute_at_dose(chart, past, ChartRule.ARRHENIUS, 1.0)
    if minute is not None:
        return minute
    whole_min = minutes_at(chart, max(future_c, chart.coldest_c), ChartRule.ARRHENIUS)
    return float(past.minutes[-1]) + (1.0 - used) * (whole_min or chart.rows[0].minutes)


def _working(
    inputs: WorkingInputs, sides: WorkingProfile, figures: tuple[float, float, float, float, float]
) -> tuple[str, ...]:
    elapsed_min, used_low, used_high, early_min, best_min = figures
    chart = inputs.chart
    rows = ", ".join(f"{row.minutes:g} min at {row.temperature_c:g} °C" for row in chart.rows)
    hot_words = words(sides.future_hot_c, Dimension.TEMPERATURE)
    return (
        f"Working-time chart {chart.version} ({chart.source}): {rows}.",
        (
            f"Used = integral of dt / t_chart(T): {used_low:.3f} to {used_high:.3f} after "
            f"{elapsed_min:.1f} min, {inputs.sensor_tolerance_k:g} K either way, hotter end of "
            f"each interval for the high figure, {chart.rounding_min / 2.0:g} min chart rounding."
        ),
        (
            f"If {hot_words} holds, used up {early_min:.1f} min after the clock started at the "
            f"earliest; best estimate {best_min:.1f} min."
        ),
        _CAUTION,
    )


_NOT_BEGUN = WorkingEstimate(
    status=WorkingStatus.NOT_STARTED,
    deadline_early=None,
    deadline_best=None,
    used_low=0.0,
    used_high=0.0,
    flags=("not_begun",),
    working=(),
)
