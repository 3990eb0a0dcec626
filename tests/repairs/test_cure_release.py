"""A kinetic model may lengthen a hold, never shorten it, and may take it away."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.cure_clock import CureInputs, CureStatus, cure_clock
from repairs.domain.cure_release import KineticLate, kinetic_late, lengthened, with_kinetics
from repairs.domain.kinetics import KineticModel, KineticStatus, isothermal_estimate
from repairs.domain.rate_law import Autocatalytic, VitrificationLimit
from repairs.domain.temperature_log import FLAG_WORDS, Reading

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
LAW = Autocatalytic(2.2e7, 55.0, 2.2e8, 55.0, 1.0, 1.0, None)
"""Synthetic: 120 min at 20 °C to a conversion of 0.9. No real resin."""
FREEZING = replace(LAW, limit=VitrificationLimit(0.55, 0.012))
MODEL = KineticModel(LAW, 0.0, 0.9)
CHART = Chart(
    (ChartRow(5.0, 500.0), ChartRow(10.0, 300.0), ChartRow(20.0, 160.0), ChartRow(30.0, 90.0)),
    ClockStart.INFLATION,
    0.0,
    "invented",
    "invented",
)


def _inputs(at_c: float, hours: float = 2.0) -> CureInputs:
    count = int(hours * 12) + 1
    readings = tuple(Reading(NOON + timedelta(minutes=5 * step), at_c) for step in range(count))
    return CureInputs(CHART, NOON, readings, at_c, sensor_tolerance_k=0.5)


@given(
    st.none() | st.integers(0, 10_000),
    st.none() | st.integers(0, 10_000),
)
def test_a_model_may_only_lengthen(hold_min: int | None, kinetic_min: int | None) -> None:
    """Never earlier than the clock's hold; where either is silent nothing is released."""
    hold = None if hold_min is None else NOON + timedelta(minutes=hold_min)
    at = None if kinetic_min is None else NOON + timedelta(minutes=kinetic_min)
    status = KineticStatus.TARGET_NOT_REACHED if at is None else KineticStatus.REACHED

    found = lengthened(hold, KineticLate(status, at, ()))

    if hold is None or at is None:
        assert found is None
    else:
        assert found == max(hold, at)


def test_a_quick_model_changes_nothing_but_the_working() -> None:
    """120 min by the model at 20 °C, 160 by the chart: the chart's hold stays."""
    inputs, now = _inputs(20.5), NOON + timedelta(hours=2)
    clock = cure_clock(inputs, now)
    kinetic = kinetic_late(inputs, MODEL, now)
    found = with_kinetics(clock, kinetic, NOON, now)

    assert kinetic is not None
    assert kinetic.at is not None
    assert clock.hold_until is not None
    assert kinetic.status is KineticStatus.REACHED
    assert kinetic.at < clock.hold_until
    assert replace(found, working=clock.working) == clock
    assert found.working == (*clock.working, *kinetic.working)
    assert "may only lengthen" in found.working[-1]


def test_a_slow_model_holds_longer() -> None:
    """0.99 takes longer than the chart: the hold, the status and a flag say so."""
    inputs, now = _inputs(20.5, hours=4.0), NOON + timedelta(hours=4)
    clock = cure_clock(inputs, now)
    kinetic = kinetic_late(inputs, KineticModel(LAW, 0.0, 0.9999), now)
    found = with_kinetics(clock, kinetic, NOON, now)

    assert clock.status is CureStatus.COMPLETE
    assert kinetic is not None
    assert found.status is CureStatus.RUNNING
    assert found.hold_until == kinetic.at
    assert found.flags == (*clock.flags, "kinetics_later")
    assert found.working == (*clock.working, *kinetic.working)
    assert found.hold_until is not None
    assert found.percent == pytest.approx(100.0 * (now - NOON) / (found.hold_until - NOON))
    done = with_kinetics(clock, kinetic, NOON, found.hold_until)
    assert (done.status, done.percent) == (CureStatus.COMPLETE, 100.0)


def test_a_resin_that_freezes_is_never_released_by_the_clock() -> None:
    """The chart's time is over, the model says it does not cure: nobody can tell."""
    inputs, now = _inputs(10.5, hours=6.0), NOON + timedelta(hours=6)
    clock = cure_clock(inputs, now)
    kinetic = kinetic_late(inputs, KineticModel(FREEZING, 0.0, 0.9), now)
    found = with_kinetics(clock, kinetic, NOON, now)

    assert clock.status is CureStatus.COMPLETE
    assert kinetic is not None
    assert kinetic.status is KineticStatus.TARGET_NOT_REACHED
    assert found.working == (*clock.working, *kinetic.working)
    assert (found.status, found.hold_until, found.percent) == (CureStatus.CANNOT_TELL, None, 0.0)
    assert set(found.flags) <= set(FLAG_WORDS)
    assert "target_not_reached" in found.flags


def test_a_model_uses_the_cold_side() -> None:
    """The sensor's tolerance is taken off, as for the late bound."""
    now = NOON + timedelta(hours=1)
    exact = kinetic_late(replace(_inputs(20.0), sensor_tolerance_k=0.0), MODEL, now)
    careful = kinetic_late(replace(_inputs(20.0), sensor_tolerance_k=1.0), MODEL, now)

    assert exact is not None
    assert careful is not None
    assert exact.at is not None
    assert careful.at is not None
    assert careful.at > exact.at


def _minutes(inputs: CureInputs, elapsed_min: float = 60.0) -> float:
    kinetic = kinetic_late(inputs, MODEL, NOON + timedelta(minutes=elapsed_min))
    assert kinetic is not None
    assert kinetic.at is not None
    return (kinetic.at - NOON).total_seconds() / 60.0


def test_a_model_takes_the_colder_of_declared_and_measured() -> None:
    """Declared at 15 °C and read at 20, it goes on from now at 15."""
    steady = _inputs(20.0)

    assert _minutes(replace(steady, declared_wall_c=15.0)) > _minutes(steady) + 5.0


@pytest.mark.parametrize("order", [(14.0, 20.0), (20.0, 14.0)])
def test_of_two_readings_with_one_stamp_a_model_takes_the_colder(
    order: tuple[float, float],
) -> None:
    """As the clock does, whichever comes last."""
    steady = _inputs(20.0)
    at = NOON + timedelta(minutes=30)
    others = tuple(one for one in steady.readings if one.at != at)
    conflict = tuple(Reading(at, at_c) for at_c in order)

    found = _minutes(replace(steady, readings=(*others, *conflict)))

    assert found == _minutes(replace(steady, readings=(*others, Reading(at, 14.0))))
    assert found > _minutes(steady) + 0.5


def test_readings_a_quarter_of_an_hour_apart_still_count_for_a_model() -> None:
    """Just the longest gap is none."""
    steady = _inputs(20.0)
    every_15 = tuple(steady.readings[::3])

    assert _minutes(replace(steady, readings=every_15)) == pytest.approx(_minutes(steady))


def test_instants_need_an_offset() -> None:
    """A naive time is refused by its name."""
    inputs, naive = _inputs(20.5, hours=4.0), NOON.replace(tzinfo=None)
    now = NOON + timedelta(hours=4)
    clock = cure_clock(inputs, now)
    slow = kinetic_late(inputs, KineticModel(LAW, 0.0, 0.9999), now)

    with pytest.raises(ValueError, match=r"^now:"):
        kinetic_late(inputs, MODEL, naive)
    with pytest.raises(ValueError, match=r"^started_at:"):
        kinetic_late(replace(inputs, started_at=naive), MODEL, NOON)
    with pytest.raises(ValueError, match=r"^now:"):
        with_kinetics(clock, slow, NOON, naive)
    with pytest.raises(ValueError, match=r"^started_at:"):
        with_kinetics(clock, slow, naive, now)


@pytest.mark.parametrize(
    ("inputs", "now"),
    [
        (replace(_inputs(20.0), started_at=None), NOON),  # not started
        (_inputs(20.0), NOON - timedelta(minutes=1)),  # not yet
        (replace(_inputs(20.0), readings=(), declared_wall_c=None), NOON),  # no temperature
    ],
)
def test_without_a_start_or_a_temperature_a_model_says_nothing(
    inputs: CureInputs, now: datetime
) -> None:
    """And the clock's own word stays."""
    assert kinetic_late(inputs, MODEL, now) is None
    clock = cure_clock(inputs, now)
    assert with_kinetics(clock, None, NOON, now) == clock


def test_where_neither_chart_nor_model_gets_there_both_are_told() -> None:
    """Below the chart's coldest row, and frozen: the flags name both."""
    inputs, now = _inputs(4.0), NOON + timedelta(hours=2)
    clock = cure_clock(inputs, now)
    found = with_kinetics(
        clock, kinetic_late(inputs, KineticModel(FREEZING, 0.0, 0.9), now), NOON, now
    )

    assert clock.hold_until is None
    assert found.status is CureStatus.CANNOT_TELL
    assert {"below_chart", "target_not_reached"} <= set(found.flags)


def test_where_only_the_chart_is_silent_the_model_releases_nothing() -> None:
    """A model that gets there below the chart does not stand in for the maker."""
    inputs, now = _inputs(4.0, hours=24.0), NOON + timedelta(hours=24)
    clock = cure_clock(inputs, now)
    kinetic = kinetic_late(inputs, MODEL, now)
    found = with_kinetics(clock, kinetic, NOON, now)

    assert kinetic is not None
    assert kinetic.at is not None
    assert (found.status, found.hold_until) == (CureStatus.CANNOT_TELL, None)


def test_a_silence_counts_for_nothing_in_the_model_too() -> None:
    """An hour without readings, 15 min allowed: the model's time comes an hour later."""
    whole = replace(_inputs(20.0), sensor_tolerance_k=0.0)
    silent = replace(
        whole,
        readings=tuple(
            each
            for each in whole.readings
            if not timedelta(minutes=30) < each.at - NOON < timedelta(minutes=90)
        ),
    )
    now = NOON + timedelta(minutes=110)
    steady, later = kinetic_late(whole, MODEL, now), kinetic_late(silent, MODEL, now)

    assert steady is not None
    assert later is not None
    assert steady.at is not None
    assert later.at is not None
    assert (later.at - steady.at).total_seconds() == pytest.approx(3600.0, abs=0.1)


def test_a_model_counts_from_the_clock_s_start() -> None:
    """Steady at 20 °C the instant is the start and the model's own minutes, at any time."""
    inputs = replace(_inputs(20.0), sensor_tolerance_k=0.0)
    minutes = isothermal_estimate(MODEL, 20.0).minutes
    assert minutes is not None
    for elapsed_min in (0, 7, 100):
        kinetic = kinetic_late(inputs, MODEL, NOON + timedelta(minutes=elapsed_min))
        assert kinetic is not None
        assert kinetic.at is not None
        assert (kinetic.at - NOON).total_seconds() / 60.0 == pytest.approx(minutes, abs=1e-3)
