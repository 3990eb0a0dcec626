"""The cure clock: when a sleeve may be released, and what can be said before.

A computed time never shortens the maker's chart: `hold_until` is the later of the
late bound and the chart's own time at the colder of the declared and the measured wall.
Reminders may use `best`; releasing and judging use `hold_until` only.
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np

from repairs.domain.chart import Chart, ChartRule, minutes_at, slowed
from repairs.domain.cure_profile import ColdSide, CureProfile, cure_profile
from repairs.domain.cure_working import CureFigures, cure_working
from repairs.domain.dose import Profile, interval_doses, minute_at_dose
from repairs.domain.instants import utc
from repairs.domain.temperature_log import Keep, Reading, clean

DEFAULT_MODEL_ALLOWANCE = 0.05
"""Share of time added because a resin is not one Arrhenius reaction.

Source: this project's comparison with two-energy kinetic models (synthetic parameters): the
dose was up to 3 to 7 % early, so 5 % is no bound; settable for each resin system.
"""
DEFAULT_LONGEST_GAP_S = 900.0
"""Longest stretch between two readings that still counts. Source: common practice."""


class CureStatus(StrEnum):
    """What the clock can say now."""

    NOT_STARTED = "not_started"
    RUNNING = "running"
    COMPLETE = "complete"
    CANNOT_TELL = "cannot_tell"


class DeflationStatus(StrEnum):
    """Whether a deflation came after the hold."""

    HELD = "held"
    TOO_EARLY = "too_early"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class CureInputs:
    """What a cure clock rests on.

    Parameters
    ----------
    chart
        The maker's chart for this kit, diameter and season.
    started_at
        The instant of ``chart.clock_start``, or None when it has not come yet.
    readings
        Temperatures between sleeve and pipe wall, in any order.
    declared_wall_c
        Wall temperature the crew declared before mixing.
    sensor_tolerance_k
        How far the sensor may be off, >= 0.
    model_allowance
        Share added to the dose required for the late bound, >= 0.
    longest_gap_s
        Longest stretch between readings that still counts, > 0.
    """

    chart: Chart
    started_at: datetime | None
    readings: tuple[Reading, ...]
    declared_wall_c: float | None
    sensor_tolerance_k: float
    model_allowance: float = DEFAULT_MODEL_ALLOWANCE
    longest_gap_s: float = DEFAULT_LONGEST_GAP_S

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name, value in (
            ("sensor_tolerance_k", self.sensor_tolerance_k),
            ("model_allowance", self.model_allowance),
        ):
            if not (math.isfinite(value) and value >= 0.0):
                raise ValueError(f"{name}: found {value!r}, expected 0 or more.")
        if not self.longest_gap_s > 0.0:
            raise ValueError(f"longest_gap_s: found {self.longest_gap_s!r}, expected more than 0.")
        if self.declared_wall_c is not None and not math.isfinite(self.declared_wall_c):
            raise ValueError(f"declared_wall_c: found {self.declared_wall_c!r}, expected a number.")


@dataclass(frozen=True, slots=True)
class CureEstimate:
    """What the clock says at one instant.

    Parameters
    ----------
    status
        ``complete`` only when now is at or after `hold_until`.
    early, best, late
        Instants (UTC) at which the chart's time is used up, warm side, as measured,
        cold side; None where the temperature lies below the chart.
    hold_until
        The only instant that releases. A later, colder reading can still move it.
    dose_best, dose_late
        Share of the chart's time used so far.
    percent
        0 to 100, by the late dose and the static time; 100 only when complete.
    static_minutes
        The chart's own time, row at or below the colder of the declared and the
        coldest measured wall temperature.
    flags, working
        Codes of ``FLAG_WORDS``; lines as an engineer would write them.
    """

    status: CureStatus
    early: datetime | None
    best: datetime | None
    late: datetime | None
    hold_until: datetime | None
    dose_best: float
    dose_late: float
    percent: float
    static_minutes: float | None
    flags: tuple[str, ...]
    working: tuple[str, ...]


def cure_clock(inputs: CureInputs, now: datetime) -> CureEstimate:
    """Estimate when the cure is complete, from what was measured until `now`.

    Parameters
    ----------
    inputs
        Chart, start, readings and tolerances.
    now
        The instant of the question; later readings are not used.

    Returns
    -------
    CureEstimate
        Early, best and late instants, and the one until which to hold.

    Raises
    ------
    ValueError
        When an instant has no offset or a reading is not a number.

    Source
    ------
    Additivity on the maker's chart; docs/calculations.md, "Cure clock".

    Limits
    ------
    Knows nothing of a wrong ratio, old resin, water on the wall, or a probe in the
    wrong place. The maker's instructions and the crew lead's judgement prevail.
    """
    at = utc(now, "now")
    if inputs.started_at is None:
        return _not_begun(inputs)
    started = utc(inputs.started_at, "started_at")
    elapsed_min = max((at - started).total_seconds() / 60.0, 0.0)
    log = clean(inputs.readings, started, max(at, started), Keep.COLDEST)
    side = ColdSide(inputs.declared_wall_c, inputs.sensor_tolerance_k, inputs.longest_gap_s / 60.0)
    profile = cure_profile(log, elapsed_min, side, inputs.chart)
    if profile is None:
        return _no_temperature(log.flags, has_begun=at >= started)
    figures = _figures(inputs, profile, elapsed_min)
    estimate = _estimate(inputs, figures, started, profile.flags)
    if at < started:
        flags = (*estimate.flags, "not_begun")
        return replace(estimate, status=CureStatus.NOT_STARTED, flags=flags)
    return estimate


def judge_deflation(inputs: CureInputs, deflated_at: datetime) -> DeflationStatus:
    """Judge whether a packer was deflated after the hold, from what was measured until then.

    Returns
    -------
    DeflationStatus
        ``held`` at or after `hold_until`; ``too_early`` before the chart's own time at
        the declared wall temperature, or before even the early estimate; between that
        and `hold_until` nobody can tell.

    Raises
    ------
    ValueError
        As for `cure_clock`.
    """
    estimate = cure_clock(inputs, deflated_at)
    if estimate.status == CureStatus.COMPLETE:
        return DeflationStatus.HELD
    if estimate.status == CureStatus.NOT_STARTED or inputs.started_at is None:
        return DeflationStatus.CANNOT_TELL
    elapsed = utc(deflated_at) - utc(inputs.started_at)
    static = estimate.static_minutes
    if static is not None and elapsed < timedelta(minutes=static):
        return DeflationStatus.TOO_EARLY
    if estimate.early is not None and utc(deflated_at) < estimate.early:
        return DeflationStatus.TOO_EARLY
    return DeflationStatus.CANNOT_TELL


def _figures(inputs: CureInputs, profile: CureProfile, elapsed_min: float) -> CureFigures:
    warm = _shifted(profile.best, inputs.sensor_tolerance_k)
    warm_future_c = profile.future_best_c + inputs.sensor_tolerance_k
    careful = slowed(inputs.chart, inputs.chart.rounding_min / 2.0)
    needed = 1.0 + inputs.model_allowance
    return CureFigures(
        elapsed_min=elapsed_min,
        early_min=_reached(inputs.chart, warm, warm_future_c, 1.0)[1],
        best=_reached(inputs.chart, profile.best, profile.future_best_c, 1.0),
        late=_reached(careful, profile.late, profile.future_late_c, needed),
        needed=needed,
        static_c=profile.static.temperature_c,
        static_from_min=profile.static.from_min,
        static_min=profile.static.minutes,
        future_best_c=profile.future_best_c,
        future_late_c=profile.future_late_c,
    )


def _shifted(profile: Profile, difference_k: float) -> Profile:
    return Profile(profile.minutes, profile.start_c + difference_k, profile.end_c + difference_k)


def _reached(
    chart: Chart, past: Profile, future_c: float, target: float
) -> tuple[float, float | None]:
    """Return the dose until now, and the minute at which `target` is reached, if ever."""
    used = float(np.sum(interval_doses(chart, past, ChartRule.ARRHENIUS)))
    minute = minute_at_dose(chart, past, ChartRule.ARRHENIUS, target)
    if minute is None:
        whole_min = minutes_at(chart, future_c, ChartRule.ARRHENIUS)
        if whole_min is not None:
            minute = float(past.minutes[-1]) + (target - used) * whole_min
    return used, minute


def _estimate(
    inputs: CureInputs, figures: CureFigures, started: datetime, flags: tuple[str, ...]
) -> CureEstimate:
    hold_min = figures.hold_min
    if hold_min is None:
        status = CureStatus.CANNOT_TELL
    elif figures.elapsed_min >= hold_min:
        status = CureStatus.COMPLETE
    else:
        status = CureStatus.RUNNING
    return CureEstimate(
        status=status,
        early=_after(started, figures.early_min),
        best=_after(started, figures.best[1]),
        late=_after(started, figures.late[1]),
        hold_until=_after(started, hold_min),
        dose_best=figures.best[0],
        dose_late=figures.late[0],
        percent=100.0 if status == CureStatus.COMPLETE else figures.percent,
        static_minutes=figures.static_min,
        flags=flags,
        working=cure_working(inputs.chart, inputs.sensor_tolerance_k, figures, started),
    )


def _after(started: datetime, minutes: float | None) -> datetime | None:
    return None if minutes is None else started + timedelta(minutes=minutes)


def _not_begun(inputs: CureInputs) -> CureEstimate:
    static_min = None
    if inputs.declared_wall_c is not None:
        static_min = minutes_at(inputs.chart, inputs.declared_wall_c, ChartRule.COLDER_ROW)
    return replace(_NOTHING, static_minutes=static_min)


def _no_temperature(flags: tuple[str, ...], *, has_begun: bool) -> CureEstimate:
    status = CureStatus.CANNOT_TELL if has_begun else CureStatus.NOT_STARTED
    line = "No temperature is known, so nothing can be computed. Measure the pipe wall."
    return replace(_NOTHING, status=status, flags=(*flags, "no_temperature"), working=(line,))


_NOTHING = CureEstimate(
    status=CureStatus.NOT_STARTED,
    early=None,
    best=None,
    late=None,
    hold_until=None,
    dose_best=0.0,
    dose_late=0.0,
    percent=0.0,
    static_minutes=None,
    flags=("not_begun",),
    working=(),
)
