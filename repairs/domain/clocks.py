"""The two clocks of a repair, put together from its progress and its prescription."""

from dataclasses import dataclass
from datetime import datetime

from repairs.domain.chart import Chart, ClockStart
from repairs.domain.cure_clock import CureEstimate, CureInputs, cure_clock
from repairs.domain.event_order import Moment, moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.limits import Limits
from repairs.domain.progress import Progress
from repairs.domain.temperature_log import Reading
from repairs.domain.working_time import WorkingEstimate, WorkingInputs, working_time

_STARTED_BY = {
    ClockStart.MIXING: EventKind.MIXING_STARTED,
    ClockStart.WET_OUT: EventKind.WET_OUT_DONE,
    ClockStart.INFLATION: EventKind.INFLATED,
}


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
    """What both clocks say at one instant."""

    working: WorkingEstimate
    cure: CureEstimate


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
    return Clocks(
        working=working_time(working_inputs(progress, basis, limits), now),
        cure=cure_clock(cure_inputs(progress, basis, limits, logged_wall=logged_wall), now),
    )


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
