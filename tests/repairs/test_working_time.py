"""The working time errs on the hot side, and refuses where it cannot know."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ClockStart
from repairs.domain.temperature_log import FLAG_WORDS, Reading
from repairs.domain.working_time import (
    WorkingEstimate,
    WorkingInputs,
    WorkingStatus,
    judge_inflation,
    working_time,
)
from tests.repairs.cure_examples import NOON, charts, log_of, logs, minutes_after, working_chart

STEADY_20 = WorkingInputs(
    chart=working_chart(),
    started_at=NOON,
    readings=log_of(range(0, 61, 5), lambda _: 20.0),
    declared_resin_c=20.0,
    sensor_tolerance_k=1.0,
)


def _after(minutes: float, inputs: WorkingInputs = STEADY_20) -> WorkingEstimate:
    return working_time(inputs, NOON + timedelta(minutes=minutes))


@pytest.mark.parametrize(
    ("minutes", "low", "high", "status"),
    [
        (20.0, 0.570, 0.641, WorkingStatus.OK),  # well inside
        (30.0, 0.855, 0.962, WorkingStatus.OK),  # inside even on the hot side
        (35.0, 0.998, 1.122, WorkingStatus.CANNOT_TELL),  # between the two sides
        (40.0, 1.140, 1.282, WorkingStatus.OVER),  # over even on the cold side
    ],
)
def test_an_inflation_is_judged_on_both_sides(
    minutes: float, low: float, high: float, status: WorkingStatus
) -> None:
    """At 20 °C with 1 K tolerance the 33 min are judged as the study found.

    Source: calculation study, A3 (computed); A3-work-lo of core_reference.csv.
    """
    estimate = _after(minutes)

    assert estimate.used_low == pytest.approx(low, abs=5e-4)
    assert estimate.used_high == pytest.approx(high, abs=5e-4)
    assert judge_inflation(STEADY_20, NOON + timedelta(minutes=minutes)) == status


@pytest.mark.parametrize(
    ("minutes", "rounding_min", "low", "high", "status"),
    [
        (32.9, 0.0, 0.997, 0.997, WorkingStatus.OK),  # six seconds left
        (33.0, 0.0, 1.0, 1.0, WorkingStatus.OVER),  # the chart's time to the second is over
        (29.9, 6.0, 0.8306, 0.9967, WorkingStatus.OK),  # it may have meant 30 min
        (30.0, 6.0, 0.8333, 1.0, WorkingStatus.CANNOT_TELL),  # 30 are up; it may mean 36
        (35.9, 6.0, 0.9972, 1.1967, WorkingStatus.CANNOT_TELL),  # not yet
        (36.0, 6.0, 1.0, 1.2, WorkingStatus.OVER),  # whatever it meant
    ],
)
def test_the_charts_rounding_is_on_both_sides(
    minutes: float, rounding_min: float, low: float, high: float, status: WorkingStatus
) -> None:
    """33 min in a chart of sixes lie between 30 and 36; a perfect thermometer at 20 °C."""
    chart = Chart(working_chart().rows, ClockStart.MIXING, rounding_min, "x", "x")
    estimate = _after(minutes, replace(STEADY_20, chart=chart, sensor_tolerance_k=0.0))

    assert estimate.used_low == pytest.approx(low, abs=1e-4)
    assert estimate.used_high == pytest.approx(high, abs=1e-4)
    assert estimate.status == status


def test_a_deadline_that_has_passed_is_told_where_it_was() -> None:
    """25 °C use the 25 min up; what the resin does in the shade afterwards moves nothing."""
    readings = log_of(range(0, 61, 5), lambda minute: 25.0 if minute <= 30 else 15.0)
    inputs = replace(STEADY_20, readings=readings, declared_resin_c=25.0, sensor_tolerance_k=0.0)
    estimate = _after(60.0, inputs)

    assert estimate.status == WorkingStatus.OVER
    assert minutes_after(NOON, estimate.deadline_early) == pytest.approx(25.0)
    assert minutes_after(NOON, estimate.deadline_best) == pytest.approx(25.0)


def test_the_cold_side_is_met_exactly() -> None:
    """30 min at 19 °C use 0.8551384766021852.

    Source: A3-work-lo of core_reference.csv (30 / hand t(19 °C)).
    """
    assert _after(30.0).used_low == pytest.approx(0.8551384766021852, rel=1e-12)


def test_the_deadline_is_that_of_the_hot_side() -> None:
    """Inflate within 31.19 min, though 33 are likely."""
    estimate = _after(10.0)

    assert minutes_after(NOON, estimate.deadline_early) == pytest.approx(31.194, abs=1e-3)
    assert minutes_after(NOON, estimate.deadline_best) == pytest.approx(33.0)


@pytest.mark.parametrize(
    ("resin_c", "status"),
    [
        (29.0, WorkingStatus.OK),  # 30 °C at most: the hottest row
        (29.5, WorkingStatus.CANNOT_TELL),  # 30.5 °C at most: past the chart, which is silent
    ],
)
def test_above_the_chart_there_is_no_answer(resin_c: float, status: WorkingStatus) -> None:
    """Heat beyond the chart is refused, never clamped. Source: calculation study, A3."""
    estimate = _after(10.0, replace(STEADY_20, readings=(), declared_resin_c=resin_c))

    assert estimate.status == status
    assert (estimate.deadline_early is None) is (status == WorkingStatus.CANNOT_TELL)


def test_below_the_chart_no_credit_is_given_for_cold() -> None:
    """At 2 °C the coldest row's 60 min are used up as at 10 °C."""
    estimate = _after(30.0, replace(STEADY_20, readings=(), declared_resin_c=2.0))

    assert estimate.used_high == pytest.approx(0.5)
    assert minutes_after(NOON, estimate.deadline_early) == pytest.approx(60.0)
    assert "below_chart" in estimate.flags


@pytest.mark.parametrize(
    ("next_min", "status"),
    [
        (15.0, WorkingStatus.OK),  # exactly the longest silence allowed
        (15.01, WorkingStatus.CANNOT_TELL),  # a breath longer: the pot may have been in the sun
    ],
)
def test_a_gap_cannot_pass(next_min: float, status: WorkingStatus) -> None:
    """A silence in a log of the resin leaves no answer."""
    inputs = replace(
        STEADY_20, readings=log_of([0.0, next_min], lambda _: 20.0), declared_resin_c=None
    )

    assert _after(next_min, inputs).status == status
    assert WorkingInputs(working_chart(), NOON, (), 20.0, 1.0).longest_gap_s == 900.0


def test_a_gap_does_not_hide_that_the_time_is_over() -> None:
    """When even the covered part uses it all, it is over in spite of a gap."""
    readings = log_of([*range(0, 46, 5), 80], lambda _: 20.0)

    assert _after(80.0, replace(STEADY_20, readings=readings)).status == WorkingStatus.OVER


@pytest.mark.parametrize(
    "readings",
    [
        log_of([0, 5, 5, 10], {0: 20.0, 5: 20.0, 10: 20.0}.__getitem__)
        + log_of([5], lambda _: 28.0),  # the hotter one last
        log_of([5], lambda _: 28.0) + log_of([0, 5, 10], lambda _: 20.0),  # the hotter one first
    ],
)
def test_of_two_readings_with_one_stamp_the_hotter_counts(readings: tuple[Reading, ...]) -> None:
    """A conflict is settled on the hot side, in whichever order it came."""
    inputs = replace(STEADY_20, readings=readings)

    assert _after(10.0, inputs).used_high > _after(10.0).used_high


@pytest.mark.parametrize("order", [(12.0, 20.0), (20.0, 12.0)])
def test_of_two_readings_with_one_stamp_the_colder_counts_for_the_low_figure(
    order: tuple[float, float],
) -> None:
    """What surely is used is reckoned with the colder of them, whichever comes last."""
    others = log_of([0, 5, 15, 20], lambda _: 20.0)
    conflict = tuple(Reading(NOON + timedelta(minutes=10), at_c) for at_c in order)
    found = _after(20.0, replace(STEADY_20, readings=(*others, *conflict)))

    colder = replace(STEADY_20, readings=(*others, *log_of([10], lambda _: 12.0)))
    assert found.used_low == _after(20.0, colder).used_low
    assert found.used_low < _after(20.0).used_low
    assert found.used_high == pytest.approx(_after(20.0).used_high)


def test_a_hot_spike_is_believed_here() -> None:
    """What the cure clock ignores, the working time must not: the resin may be that hot."""
    readings = log_of([0, 5, 10, 15], {0: 20.0, 5: 20.0, 10: 29.0, 15: 20.0}.__getitem__)
    estimate = _after(15.0, replace(STEADY_20, readings=readings))

    assert estimate.used_high > _after(15.0).used_high + 0.1
    assert "spike" in estimate.flags


def test_an_implausible_reading_leaves_no_answer() -> None:
    """68 typed for 68 °F is not used, and what it hid is not guessed."""
    readings = (*STEADY_20.readings, *log_of([7], lambda _: 68.0))

    assert _after(10.0, replace(STEADY_20, readings=readings)).status == WorkingStatus.CANNOT_TELL


@pytest.mark.parametrize(
    ("minutes", "status"),
    [
        (-1.0, WorkingStatus.NOT_STARTED),  # mixing is still to come
        (0.0, WorkingStatus.OK),  # the instant mixing starts
    ],
)
def test_the_clock_starts_with_mixing(minutes: float, status: WorkingStatus) -> None:
    """Before the start nothing is used."""
    estimate = _after(minutes)

    assert estimate.status == status
    assert estimate.used_high == 0.0
    assert ("not_begun" in estimate.flags) is (status == WorkingStatus.NOT_STARTED)


def test_without_a_start_there_is_nothing_to_say() -> None:
    """No mixing, no deadline."""
    estimate = _after(10.0, replace(STEADY_20, started_at=None))

    assert estimate.status == WorkingStatus.NOT_STARTED
    assert (estimate.deadline_early, estimate.deadline_best) == (None, None)
    assert (estimate.used_low, estimate.used_high) == (0.0, 0.0)
    assert estimate.flags == ("not_begun",)


@pytest.mark.parametrize(
    ("minutes", "status"),
    [
        (-1.0, WorkingStatus.NOT_STARTED),  # before mixing nothing is missing yet
        (0.0, WorkingStatus.CANNOT_TELL),  # the instant mixing starts
        (1.0, WorkingStatus.CANNOT_TELL),  # a minute on
    ],
)
def test_without_any_temperature_nobody_can_tell(minutes: float, status: WorkingStatus) -> None:
    """Neither declared nor read: nothing is made up."""
    estimate = _after(minutes, replace(STEADY_20, readings=(), declared_resin_c=None))

    assert estimate.status == status
    assert "no_temperature" in estimate.flags


def test_half_the_charts_rounding_shortens_the_time() -> None:
    """A chart printed in fives may mean 30.5 min where it says 33."""
    chart = Chart(working_chart().rows, ClockStart.MIXING, 5.0, "x", "x")
    estimate = _after(10.0, replace(STEADY_20, chart=chart, sensor_tolerance_k=0.0))

    assert minutes_after(NOON, estimate.deadline_early) == pytest.approx(30.5)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("sensor_tolerance_k", -1.0),  # a tolerance is no correction
        ("longest_gap_s", 0.0),  # no log could ever count
    ],
)
def test_impossible_inputs_are_refused_by_name(field: str, value: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=f"^{field}: found"):
        replace(STEADY_20, **{field: value})


def test_any_longest_gap_above_nothing_is_one() -> None:
    """Half a second is odd, but a figure: a log every five minutes is full of gaps then."""
    assert "gap" in _after(10.0, replace(STEADY_20, longest_gap_s=0.5)).flags


def test_instants_need_an_offset() -> None:
    """A naive time is refused by its name."""
    naive = NOON.replace(tzinfo=None)

    with pytest.raises(ValueError, match=r"^now:"):
        working_time(STEADY_20, naive)
    with pytest.raises(ValueError, match=r"^started_at:"):
        working_time(replace(STEADY_20, started_at=naive), NOON)


def test_the_working_is_what_an_engineer_would_write() -> None:
    """Chart, share used, deadlines and the caution of the pot, with their numbers."""
    chart = Chart(working_chart().rows, ClockStart.MIXING, 5.0, "invented 2", "invented")
    chart_line, used, deadlines, caution = _after(20.0, replace(STEADY_20, chart=chart)).working

    assert chart_line == (
        "Working-time chart invented 2 (invented): 60 min at 10 °C, 45 min at 15 °C, "
        "33 min at 20 °C, 25 min at 25 °C, 18 min at 30 °C."
    )
    assert used == (
        "Used = integral of dt / t_chart(T): 0.532 to 0.697 after 20.0 min, 1 K either way, "
        "hotter end of each interval for the high figure, 2.5 min chart rounding."
    )
    assert deadlines == (
        "If 21.0 °C (69.8 °F) holds, used up 28.7 min after the clock started at the earliest; "
        "best estimate 33.0 min."
    )
    assert "necessary, not sufficient" in caution


working_inputs = st.builds(
    WorkingInputs,
    chart=charts().filter(lambda chart: chart.rows[-1].minutes > 0.6),
    started_at=st.just(NOON),
    readings=logs(),
    declared_resin_c=st.none() | st.floats(0.0, 30.0),
    sensor_tolerance_k=st.floats(0.0, 2.0),
)


@given(inputs=working_inputs, minutes=st.integers(0, 240).map(float))
def test_the_low_figure_never_exceeds_the_high(inputs: WorkingInputs, minutes: float) -> None:
    """Low <= high, and ok is said only while the high one is below 1."""
    estimate = _after(minutes, inputs)

    assert estimate.used_low <= estimate.used_high + 1e-9
    assert estimate.status != WorkingStatus.OK or estimate.used_high < 1.0
    assert set(estimate.flags) <= set(FLAG_WORDS)
    if estimate.deadline_early is not None:
        assert estimate.deadline_best is not None
        assert estimate.deadline_early <= estimate.deadline_best + timedelta(milliseconds=1)


@given(inputs=working_inputs, minutes=st.integers(0, 240).map(float), rise_k=st.floats(0.0, 5.0))
def test_over_stays_over_when_hotter(inputs: WorkingInputs, minutes: float, rise_k: float) -> None:
    """Raising every reading never turns over into ok, nor makes room."""
    hotter = replace(
        inputs,
        readings=tuple(Reading(one.at, one.temperature_c + rise_k) for one in inputs.readings),
    )

    before, after = _after(minutes, inputs), _after(minutes, hotter)

    assert after.used_high >= before.used_high - 1e-9
    assert after.used_low >= before.used_low - 1e-9
    if before.status == WorkingStatus.OVER:
        assert after.status == WorkingStatus.OVER or after.used_low > 1.0 - 1e-9


@given(inputs=working_inputs, minutes=st.integers(0, 240).map(float), data=st.data())
def test_order_and_repetition_of_readings_change_nothing(
    inputs: WorkingInputs, minutes: float, data: st.DataObject
) -> None:
    """Readings sent twice, in any order, are the same readings."""
    again = data.draw(st.permutations(inputs.readings + inputs.readings))

    assert _after(minutes, replace(inputs, readings=tuple(again))) == _after(minutes, inputs)
