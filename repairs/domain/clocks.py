"""The two clocks of a repair, put together from its progress and its prescription."""

from dataclasses import dataclass, replace
from datetime import datetime

from repairs.domain.chart import Chart, ClockStart
from repairs.domain.cure_clock import (
    CureEstimate,
    CureInputs,
    CureStatus,
    DeflationStatus,
    cure_clock,
    judge_deflation,
)
from repairs.domain.event_order import Moment, comparable, is_from_the_future, moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.limits import Limits
from repairs.domain.progress import Progress
from repairs.domain.temperature_log import Reading
from repairs.domain.working_time import (
    WorkingEstimate,
    WorkingInputs,
    WorkingStatus,
    working_time,
)

_STARTED_BY = {
    ClockStart.MIXING: EventKind.MIXING_STARTED,
    ClockStart.WET_OUT: EventKind.WET_OUT_DONE,
    ClockStart.INFLATION: EventKind.INFLATED,
}


CLOCK_AHEAD = "clock_ahead"
"""Flag: the device says the step happened after the server received it."""

CLOCK_NOT_COMPARED = "clock_not_compared"
"""Flag: the device never told its clock's time, so it cannot be held against ours."""

_DOUBTS = frozenset({CLOCK_AHEAD, CLOCK_NOT_COMPARED, "declared_only", "declared_differs"})
"""Flags with which a live clock does not say 'complete'."""

ALMOST = 99.0


@dataclass(frozen=True, slots=True)
class ClockBasis:
    """What the clocks need of the prescription: charts, allowance, declared temperatures."""

    working_chart: Chart
    cure_chart: Chart
    model_allowance: float
    declared_wall_c: float | None
    declared_resin_c: float | None


@dataclass(frozen=True, slots=True)
class Clocks:
    """What both clocks say at one instant.

    Parameters
    ----------
    inflated_at
        The inflation, at which the working time ends to count.
    deflated_at, deflation
        The deflation, at which the cure clock stops, and whether it came after the hold.
    """

    working: WorkingEstimate
    cure: CureEstimate
    inflated_at: datetime | None = None
    deflated_at: datetime | None = None
    deflation: DeflationStatus | None = None


def clocks_of(
    progress: Progress,
    basis: ClockBasis,
    limits: Limits,
    now: datetime,
    *,
    logged_wall: tuple[Reading, ...] = (),
) -> Clocks:
    """Return both clocks at `now`, from the events alone plus a logged wall temperature.

    Of a start known only within bounds each clock takes the end that is safe
    for it: the working time counts from the earliest, the cure from the latest.
    """
    inflated = progress.event(EventKind.INFLATED)
    deflated = progress.event(EventKind.DEFLATED)
    working = working_inputs(progress, basis, limits)
    cure = cure_inputs(progress, basis, limits, logged_wall=logged_wall)
    return Clocks(
        working=_trusted_working(
            working_time(working, now if inflated is None else moment_of(inflated).latest),
            progress.event(_STARTED_BY[basis.working_chart.clock_start]),
        ),
        cure=_trusted_cure(
            cure_clock(cure, now if deflated is None else moment_of(deflated).earliest),
            progress.event(_STARTED_BY[basis.cure_chart.clock_start]),
            still_running=deflated is None,
        ),
        inflated_at=None if inflated is None else moment_of(inflated).best,
        deflated_at=None if deflated is None else moment_of(deflated).best,
        deflation=None
        if deflated is None
        else _deflation(cure, deflated, progress.event(_STARTED_BY[basis.cure_chart.clock_start])),
    )


def _trusted_working(estimate: WorkingEstimate, start: Event | None) -> WorkingEstimate:
    """Give no minutes to a clock that runs ahead: it would count the working time too late."""
    if start is None or not is_from_the_future(start):
        return estimate
    return replace(estimate, status=WorkingStatus.CANNOT_TELL, flags=(*estimate.flags, CLOCK_AHEAD))


def _trusted_cure(
    estimate: CureEstimate, start: Event | None, *, still_running: bool
) -> CureEstimate:
    """Release nothing live on a clock nobody compared, or on a temperature nobody measured.

    Between two events of one device its error cancels, so a deflation is judged
    by the device's own clock; against our clock it does not.
    """
    if start is None:
        return estimate
    flags = list(estimate.flags)
    if is_from_the_future(start):
        flags.append(CLOCK_AHEAD)
    elif still_running and not start.clock_verified:
        flags.append(CLOCK_NOT_COMPARED)
    if still_running and estimate.status is CureStatus.COMPLETE and _DOUBTS & set(flags):
        return replace(
            estimate,
            status=CureStatus.CANNOT_TELL,
            percent=min(estimate.percent, ALMOST),
            flags=tuple(flags),
        )
    return replace(estimate, flags=tuple(flags))


def cure_start(progress: Progress, basis: ClockBasis) -> Event | None:
    """Return the step that starts the cure by the maker's chart."""
    return progress.event(_STARTED_BY[basis.cure_chart.clock_start])


def _deflation(cure: CureInputs, deflated: Event, start: Event | None) -> DeflationStatus:
    """Return how a deflation known only within bounds is judged."""
    if start is not None and not comparable(start, deflated):
        return DeflationStatus.CANNOT_TELL
    moment = moment_of(deflated)
    if judge_deflation(cure, moment.earliest) is DeflationStatus.HELD:
        return DeflationStatus.HELD
    if judge_deflation(cure, moment.latest) is DeflationStatus.TOO_EARLY:
        return DeflationStatus.TOO_EARLY
    return DeflationStatus.CANNOT_TELL


def working_inputs(progress: Progress, basis: ClockBasis, limits: Limits) -> WorkingInputs:
    """Return what the working time rests on."""
    start = _start(progress, basis.working_chart)
    mixing = progress.event(EventKind.MIXING_STARTED)
    declared = basis.declared_resin_c if mixing is None else mixing.data.get("resin_temperature_c")
    return WorkingInputs(
        chart=basis.working_chart,
        started_at=None if start is None else start.earliest,
        readings=readings_at(progress, "resin"),
        declared_resin_c=declared,
        sensor_tolerance_k=limits.sensor_tolerance_k,
    )


def cure_inputs(
    progress: Progress,
    basis: ClockBasis,
    limits: Limits,
    *,
    logged_wall: tuple[Reading, ...] = (),
) -> CureInputs:
    """Return what the cure clock rests on."""
    start = _start(progress, basis.cure_chart)
    return CureInputs(
        chart=basis.cure_chart,
        started_at=None if start is None else start.latest,
        readings=readings_at(progress, "pipe_wall") + logged_wall,
        declared_wall_c=basis.declared_wall_c,
        sensor_tolerance_k=limits.sensor_tolerance_k,
        model_allowance=basis.model_allowance,
        longest_gap_s=limits.temperature_gap_s,
    )


def readings_at(progress: Progress, where: str) -> tuple[Reading, ...]:
    """Return the temperatures a crew reported at one place."""
    return tuple(
        Reading(at=moment_of(event).best, temperature_c=float(event.data["temperature_c"]))
        for event in progress.all_of(EventKind.TEMPERATURE_READ)
        if event.data.get("where") == where
    )


def _start(progress: Progress, chart: Chart) -> Moment | None:
    event = progress.event(_STARTED_BY[chart.clock_start])
    return None if event is None else moment_of(event)
