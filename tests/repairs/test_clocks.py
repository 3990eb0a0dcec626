"""Both clocks of a repair, put together from its events."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ClockStart
from repairs.domain.clocks import ClockBasis, Clocks, clocks_of, cure_inputs, working_inputs
from repairs.domain.cure_clock import CureStatus
from repairs.domain.field_event import Event, EventKind
from repairs.domain.limits import limits_from
from repairs.domain.progress import fold
from repairs.domain.temperature_log import Reading
from repairs.domain.working_time import WorkingStatus
from tests.chart_example import CURE, WORKING
from tests.contract_example import LIMITS
from tests.event_example import NINE, an_event

K = EventKind
CONTRACT = limits_from(LIMITS)
BASIS = ClockBasis(WORKING, CURE, 0.05, declared_wall_c=20.0, declared_resin_c=20.0)


def mixed(minute: float = 0, **more: Any) -> Event:
    """Return a mixing at 20 degC."""
    return an_event(K.MIXING_STARTED, minute, data={"resin_temperature_c": 20.0}, **more)


def reading(minute: float, c: float, where: str = "pipe_wall", number: int = 0) -> Event:
    """Return a temperature that a crew read."""
    data = {"temperature_c": c, "where": where}
    return an_event(K.TEMPERATURE_READ, minute, number=number, data=data)


def clocks(*events: Event, at_min: float, basis: ClockBasis = BASIS) -> Clocks:
    """Return both clocks some minutes after nine."""
    progress = fold(events, attempt=1)
    return clocks_of(progress, basis, CONTRACT, NINE + timedelta(minutes=at_min))


def cured_day(**inflation: Any) -> tuple[Event, ...]:
    """Return a cure at 20 degC with the wall read every ten minutes."""
    wall = [reading(minute, 20.0, number=minute) for minute in range(20, 270, 10)]
    return (mixed(), an_event(K.INFLATED, 20, **inflation), *wall)


def test_nothing_begun_is_not_started() -> None:
    """Before mixing both clocks stand still."""
    found = clocks(an_event(K.ARRIVED), at_min=60)

    assert found.working.status is WorkingStatus.NOT_STARTED
    assert found.cure.status is CureStatus.NOT_STARTED


@pytest.mark.parametrize(
    ("at_min", "status"),
    [
        (1, WorkingStatus.OK),
        (45, WorkingStatus.OVER),  # the chart gives 33 min at 20 degC
    ],
)
def test_the_working_time_runs_from_mixing(at_min: float, status: WorkingStatus) -> None:
    """Early it is ok, long after the chart's time it is over."""
    assert clocks(mixed(), at_min=at_min).working.status is status


@pytest.mark.parametrize(
    ("at_min", "status"),
    [
        (20 + 105 - 1, CureStatus.RUNNING),  # a minute before the chart's own time
        (20 + 240, CureStatus.COMPLETE),  # even the chart's coldest row is over
    ],
)
def test_the_cure_runs_from_inflation(at_min: float, status: CureStatus) -> None:
    """It is complete only after more than the chart's own 105 min at 20 degC."""
    assert clocks(*cured_day(), at_min=at_min).cure.status is status


@pytest.mark.parametrize(
    ("day", "flag"),
    [
        # Nobody measured the wall: a declared temperature is a promise, not a record.
        ((mixed(), an_event(K.INFLATED, 20)), "declared_only"),
        # Nobody compared the device's clock with ours.
        (cured_day(clock_verified=False), "clock_not_compared"),
        # The device said it happened after we had heard of it.
        (cured_day(received_at=NINE - timedelta(hours=1)), "clock_ahead"),
    ],
)
def test_a_live_clock_releases_nothing_on_a_doubt(day: tuple[Event, ...], flag: str) -> None:
    """Long after the hold, a doubt of clock or temperature is never 'complete'."""
    found = clocks(*day, at_min=20 + 240).cure

    assert found.status is CureStatus.CANNOT_TELL
    assert flag in found.flags
    assert found.percent < 100


def test_of_an_uncertain_start_each_clock_takes_its_safe_end() -> None:
    """With a device clock known within ten minutes, the resin is older and the cure younger."""
    unsure = {"offset_low_s": -300.0, "offset_high_s": 300.0}
    progress = fold([mixed(**unsure), an_event(K.INFLATED, 20, **unsure)], attempt=1)

    working = working_inputs(progress, BASIS, CONTRACT)
    cure = cure_inputs(progress, BASIS, CONTRACT)

    assert working.started_at == NINE - timedelta(minutes=5)
    assert cure.started_at == NINE + timedelta(minutes=25)


@pytest.mark.parametrize(
    ("starts", "kind"),
    [
        (ClockStart.MIXING, K.MIXING_STARTED),
        (ClockStart.WET_OUT, K.WET_OUT_DONE),
        (ClockStart.INFLATION, K.INFLATED),
    ],
)
def test_the_chart_says_what_starts_its_clock(starts: ClockStart, kind: EventKind) -> None:
    """The same chart read from another start begins with that event."""
    chart = Chart(CURE.rows, starts, CURE.rounding_min, CURE.version, CURE.source)
    basis = ClockBasis(WORKING, chart, 0.05, 20.0, 20.0)
    day = [mixed(0), an_event(K.WET_OUT_DONE, 8), an_event(K.INFLATED, 20)]

    found = cure_inputs(fold(day, attempt=1), basis, CONTRACT).started_at

    assert found == next(event.device_time for event in day if event.kind is kind)


def test_each_clock_reads_its_own_thermometer() -> None:
    """The wall moves the cure, the resin the working time, the air neither."""
    day = [
        mixed(),
        an_event(K.INFLATED, 20),
        reading(25, 12.0, "pipe_wall", 1),
        reading(5, 28.0, "resin", 2),
        reading(6, 35.0, "air", 3),
    ]
    progress = fold(day, attempt=1)

    assert [r.temperature_c for r in cure_inputs(progress, BASIS, CONTRACT).readings] == [12.0]
    assert [r.temperature_c for r in working_inputs(progress, BASIS, CONTRACT).readings] == [28.0]


def test_a_logged_wall_temperature_counts_beside_the_reported_ones() -> None:
    """What a logger wrote is as good as what a person read."""
    progress = fold([an_event(K.INFLATED, 20), reading(25, 12.0)], attempt=1)
    logged = (Reading(NINE + timedelta(minutes=30), 13.0),)

    found = cure_inputs(progress, BASIS, CONTRACT, logged_wall=logged).readings

    assert sorted(r.temperature_c for r in found) == [12.0, 13.0]


def test_the_resin_temperature_of_the_mixing_goes_before_the_declared_one() -> None:
    """What was measured when mixing is nearer to the truth than what was planned."""
    hot = an_event(K.MIXING_STARTED, data={"resin_temperature_c": 28.0})

    assert working_inputs(fold([hot], attempt=1), BASIS, CONTRACT).declared_resin_c == 28.0
    assert working_inputs(fold([], attempt=1), BASIS, CONTRACT).declared_resin_c == 20.0


@given(c=st.floats(10, 30), colder=st.floats(0, 5))
def test_a_colder_wall_never_releases_sooner(c: float, colder: float) -> None:
    """Read colder, the hold is over at the same time or later, or not known at all."""
    warm = _hold(c)
    cold = _hold(max(c - colder, 10.0))

    assert warm is None or cold is None or cold >= warm


def _hold(c: float) -> Any:
    day = (mixed(), an_event(K.INFLATED, 20), reading(21, c))
    return clocks(*day, at_min=22).cure.hold_until


@given(wall_c=st.floats(20, 30))
def test_no_reading_releases_before_the_charts_own_time(wall_c: float) -> None:
    """However warm it is read, the chart at the declared 20 degC holds for 105 min."""
    hold = _hold(wall_c)

    assert hold is not None
    assert hold >= NINE + timedelta(minutes=20 + 105)
