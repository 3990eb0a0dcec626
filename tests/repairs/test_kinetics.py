"""A kinetic model may lengthen a hold, never shorten it, and may say: not reached."""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.cure_clock import CureInputs, CureStatus, cure_clock
from repairs.domain.cure_release import KineticLate, kinetic_late, lengthened, with_kinetics
from repairs.domain.dose import Profile
from repairs.domain.kinetics import (
    KineticModel,
    KineticStatus,
    isothermal_estimate,
    kinetic_estimate,
)
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
temperatures = st.floats(min_value=2.0, max_value=35.0)


def _inputs(at_c: float, hours: float = 2.0) -> CureInputs:
    count = int(hours * 12) + 1
    readings = tuple(Reading(NOON + timedelta(minutes=5 * step), at_c) for step in range(count))
    return CureInputs(CHART, NOON, readings, at_c, sensor_tolerance_k=0.5)


def _profile(at_c: list[float], step_min: float = 30.0) -> Profile:
    column = np.array(at_c)
    return Profile(step_min * np.arange(column.size + 1.0), column, column)


@pytest.mark.parametrize(
    ("at_c", "final"),
    [(5.0, 0.61), (10.0, 0.67), (20.0, 0.79), (30.0, 0.91)],
)
def test_a_cold_resin_freezes_below_its_target(at_c: float, final: float) -> None:
    """A target of 0.90 is never reached at 5 to 20 °C, and no time is given.

    Source: the study's toy limit, 0.55 + 0.012 T (synthetic).
    """
    model = KineticModel(FREEZING, 0.0, 0.90)
    found = kinetic_estimate(model, _profile([at_c] * 100, 240.0), at_c)

    if final < 0.90:
        assert found.status is KineticStatus.TARGET_NOT_REACHED
        assert found.minutes is None
        assert found.conversion == pytest.approx(final, abs=1e-3)
        assert "not reached" in " ".join(found.working)
    else:
        assert found.status is KineticStatus.REACHED


def test_freezing_only_lengthens() -> None:
    """Where the frozen conversion lies above the target, the target comes later."""
    free = isothermal_estimate(KineticModel(LAW, 0.0, 0.85), 30.0).minutes
    held = isothermal_estimate(KineticModel(FREEZING, 0.0, 0.85), 30.0).minutes

    assert free is not None
    assert held is not None
    assert held > free


def test_a_law_that_needs_a_first_bit_never_starts_from_nothing() -> None:
    """Without the first of both terms a conversion of 0 stays 0."""
    law = replace(LAW, factor_1_per_min=0.0)

    assert isothermal_estimate(KineticModel(law, 0.0, 0.9), 20.0).minutes is None
    assert isothermal_estimate(KineticModel(law, 0.001, 0.9), 20.0).minutes is not None


def test_more_than_thirty_days_are_not_reached() -> None:
    """A time nobody waits for is no time."""
    slow = replace(LAW, factor_1_per_min=1.0, factor_2_per_min=1.0)

    found = isothermal_estimate(KineticModel(slow, 0.0, 0.9), 5.0)

    assert found.status is KineticStatus.TARGET_NOT_REACHED


def test_nothing_is_credited_where_nothing_is_known() -> None:
    """A silence of an hour counts for nothing, as in the dose."""
    silent = kinetic_estimate(MODEL, _profile([20.0, float("nan"), float("nan")]), 20.0)
    steady = isothermal_estimate(MODEL, 20.0)

    assert silent.minutes is not None
    assert steady.minutes is not None
    assert silent.minutes == pytest.approx(steady.minutes + 60.0, rel=1e-7)


@given(temperatures, st.floats(0.0, 5.0))
@settings(max_examples=300)
def test_hotter_is_never_later(at_c: float, more_k: float) -> None:
    """At one temperature."""
    colder, hotter = (isothermal_estimate(MODEL, each).minutes for each in (at_c, at_c + more_k))

    assert colder is not None
    assert hotter is not None
    assert hotter <= colder * (1.0 + 1e-9)


@given(st.lists(temperatures, min_size=1, max_size=6), st.integers(0, 5), st.floats(0.0, 5.0))
@settings(max_examples=300, deadline=None)
def test_a_hotter_log_is_never_later(at_c: list[float], which: int, more_k: float) -> None:
    """Through a log, one stretch warmed."""
    warmed = list(at_c)
    warmed[which % len(at_c)] += more_k
    colder = kinetic_estimate(MODEL, _profile(at_c), at_c[-1])
    hotter = kinetic_estimate(MODEL, _profile(warmed), at_c[-1])

    assert colder.minutes is not None
    assert hotter.minutes is not None
    assert hotter.minutes <= colder.minutes * (1.0 + 1e-7)


@given(st.floats(0.05, 0.9), st.floats(0.0, 0.09))
@settings(max_examples=300)
def test_a_higher_target_is_never_earlier(target: float, more: float) -> None:
    """At one temperature."""
    first, second = (
        isothermal_estimate(KineticModel(LAW, 0.0, each), 20.0).minutes
        for each in (target, target + more)
    )

    assert first is not None
    assert second is not None
    assert second >= first * (1.0 - 1e-9)


@given(
    st.none() | st.integers(0, 10_000),
    st.none() | st.integers(0, 10_000),
)
@settings(max_examples=300)
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
    assert kinetic.at < clock.hold_until
    assert replace(found, working=clock.working) == clock
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
    assert 50.0 < found.percent < 100.0
    assert found.hold_until is not None
    done = with_kinetics(clock, kinetic, NOON, found.hold_until)
    assert (done.status, done.percent) == (CureStatus.COMPLETE, 100.0)


def test_a_resin_that_freezes_is_never_released_by_the_clock() -> None:
    """The chart's time is over, the model says it does not cure: nobody can tell."""
    inputs, now = _inputs(10.5, hours=6.0), NOON + timedelta(hours=6)
    clock = cure_clock(inputs, now)
    kinetic = kinetic_late(inputs, KineticModel(FREEZING, 0.0, 0.9), now)
    found = with_kinetics(clock, kinetic, NOON, now)

    assert clock.status is CureStatus.COMPLETE
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


@pytest.mark.parametrize(
    ("initial", "target"), [(0.0, 1.0), (0.5, 0.5), (-0.1, 0.9), (0.0, 0.0), (0.0, float("nan"))]
)
def test_a_target_that_is_none_is_refused(initial: float, target: float) -> None:
    """A cure starts below its target, and 1 takes for ever."""
    with pytest.raises(ValueError, match="target"):
        KineticModel(LAW, initial, target)


@pytest.mark.parametrize(
    "change",
    [
        {"factor_1_per_min": -1.0},
        {"energy_2_kj_mol": float("nan")},
        {"order_m": -0.1},
        {"order_n": 0.0},
        {"factor_1_per_min": 0.0, "factor_2_per_min": 0.0},
    ],
)
def test_a_law_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=next(iter(change))):
        replace(LAW, **change)


@pytest.mark.parametrize("limit", [(1.1, 0.0), (-0.1, 0.0), (0.5, -0.01), (0.5, float("inf"))])
def test_a_limit_that_cannot_be_is_refused(limit: tuple[float, float]) -> None:
    """A conversion lies between 0 and 1, and warmth never lowers it."""
    with pytest.raises(ValueError, match=r"at_zero_c|per_k"):
        VitrificationLimit(*limit)


def test_without_scipy_everything_else_works_and_the_model_says_what_is_missing() -> None:
    """The extra is optional: the import stands, and the message names it."""
    program = """
import sys
sys.modules["scipy"] = sys.modules["scipy.integrate"] = None
from repairs.domain.cure_release import KineticModel
from repairs.domain.kinetics import isothermal_estimate
from repairs.domain.rate_law import Autocatalytic
law = Autocatalytic(1.0, 50.0, 1.0, 50.0, 1.0, 1.0, None)
try:
    isothermal_estimate(KineticModel(law, 0.0, 0.9), 20.0)
except RuntimeError as error:
    print(error)
"""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )

    assert "'kinetics'" in done.stdout
    assert "Everything else works" in done.stdout
