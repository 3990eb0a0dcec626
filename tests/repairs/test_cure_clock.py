"""The cure clock never lets go before the maker's chart, and never guesses."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.cure_clock import (
    CureEstimate,
    CureInputs,
    CureStatus,
    DeflationStatus,
    cure_clock,
    judge_deflation,
)
from repairs.domain.temperature_log import FLAG_WORDS, Reading
from tests.repairs.cure_examples import NOON, arrhenius_chart, charts, log_of, logs, minutes_after

STEADY_20 = CureInputs(
    chart=arrhenius_chart(),
    started_at=NOON,
    readings=log_of(range(0, 601, 5), lambda _: 20.0),
    declared_wall_c=20.0,
    sensor_tolerance_k=0.0,
    model_allowance=0.0,
)


def _after(minutes: float, inputs: CureInputs = STEADY_20) -> CureEstimate:
    return cure_clock(inputs, NOON + timedelta(minutes=minutes))


@pytest.mark.parametrize(
    ("minutes", "status", "percent"),
    [
        (-1.0, CureStatus.NOT_STARTED, 0.0),  # a minute before the clock starts
        (0.0, CureStatus.RUNNING, 0.0),  # the instant it starts
        (90.0, CureStatus.RUNNING, 50.0),  # half of 180 min at 20 °C
        (179.9, CureStatus.RUNNING, 99.944),  # six seconds short
        (180.0, CureStatus.COMPLETE, 100.0),  # the chart's time to the second
        (600.0, CureStatus.COMPLETE, 100.0),  # long after
    ],
)
def test_a_steady_pipe_follows_the_chart(
    minutes: float, status: CureStatus, percent: float
) -> None:
    """At a constant 20 °C, a perfect sensor and no allowance, the chart's 180 min hold."""
    estimate = _after(minutes)

    assert estimate.status == status
    assert estimate.percent == pytest.approx(percent, abs=0.01)
    assert minutes_after(NOON, estimate.hold_until) == pytest.approx(180.0)
    assert ("not_begun" in estimate.flags) is (status == CureStatus.NOT_STARTED)


def test_both_doses_are_told() -> None:
    """90 min of 180 as measured; on the cold side of 1 K, of 194.45 min."""
    estimate = _after(90.0, replace(STEADY_20, sensor_tolerance_k=1.0))

    assert estimate.dose_best == pytest.approx(90.0 / 180.0)
    assert estimate.dose_late == pytest.approx(90.0 / 194.45390690004461)


def test_between_two_readings_the_clock_runs_on() -> None:
    """Two minutes after the last reading these two minutes count as well."""
    estimate = _after(92.0)

    assert minutes_after(NOON, estimate.best) == pytest.approx(180.0)
    assert minutes_after(NOON, estimate.late) == pytest.approx(180.0)


def test_a_pipe_that_warms_up_is_estimated_from_its_whole_log() -> None:
    """10 °C for an hour, then 20: early 201.05, best 214.50, late 230.32 min.

    Source: calculation study, A2 step log (best by hand sum 214.50), at 1 K tolerance.
    """

    def step_c(minute: float) -> float:
        return min(20.0, max(10.0, 10.0 + 2.0 * (minute - 60.0)))

    inputs = replace(STEADY_20, readings=log_of(range(0, 121, 5), step_c), sensor_tolerance_k=1.0)
    estimate = _after(120.0, inputs)

    assert minutes_after(NOON, estimate.early) == pytest.approx(201.05, abs=0.005)
    assert minutes_after(NOON, estimate.best) == pytest.approx(214.50, abs=0.005)
    assert minutes_after(NOON, estimate.late) == pytest.approx(230.32, abs=0.005)


def test_the_chart_at_the_declared_temperature_is_never_undercut() -> None:
    """A wall declared at 10 °C holds for the chart's 399.4 min, however warm the log."""
    estimate = _after(230.0, replace(STEADY_20, declared_wall_c=10.0))

    assert estimate.status == CureStatus.RUNNING
    assert minutes_after(NOON, estimate.hold_until) == pytest.approx(399.37078513009436)


def test_between_two_rows_the_colder_one_holds() -> None:
    """A wall declared at 17 °C holds for the 15 °C row's 266.27 min, not the estimate's 225."""
    inputs = replace(
        STEADY_20, readings=log_of(range(0, 301, 5), lambda _: 17.0), declared_wall_c=17.0
    )
    estimate = _after(240.0, inputs)

    assert estimate.static_minutes == pytest.approx(266.27, abs=0.01)
    assert minutes_after(NOON, estimate.late) == pytest.approx(227.2, abs=1.0)
    assert estimate.status == CureStatus.RUNNING


@pytest.mark.parametrize(
    ("tolerance_k", "early", "late"),
    [
        (0.0, 180.0, 180.0),  # a perfect sensor
        (1.0, 166.65, 194.45390690004461),  # late: A2-tol-1C of core_reference.csv
        (2.0, 154.5, 210.2),  # -14.2 and +16.8 %, calculation study A2
    ],
)
def test_a_sensor_that_may_be_off_widens_the_bounds(
    tolerance_k: float, early: float, late: float
) -> None:
    """A degree is worth about 8 % of time at 20 °C."""
    estimate = _after(0.0, replace(STEADY_20, sensor_tolerance_k=tolerance_k))

    assert minutes_after(NOON, estimate.early) == pytest.approx(early, rel=1e-3)
    assert minutes_after(NOON, estimate.late) == pytest.approx(late, rel=1e-3)


def test_the_model_allowance_lengthens_the_hold() -> None:
    """5 % more dose is asked of a resin that is not one reaction."""
    estimate = _after(0.0, replace(STEADY_20, model_allowance=0.05))
    unsaid = CureInputs(STEADY_20.chart, NOON, STEADY_20.readings, 20.0, sensor_tolerance_k=0.0)

    assert minutes_after(NOON, estimate.hold_until) == pytest.approx(189.0)
    assert (unsaid.model_allowance, unsaid.longest_gap_s) == (0.05, 900.0)
    assert _after(0.0, unsaid).hold_until == estimate.hold_until


def test_half_the_charts_rounding_lengthens_the_late_bound() -> None:
    """A chart printed in tens may mean 185 min where it says 180."""
    estimate = _after(0.0, replace(STEADY_20, chart=arrhenius_chart(rounding_min=10.0)))

    assert minutes_after(NOON, estimate.best) == pytest.approx(180.0)
    assert minutes_after(NOON, estimate.late) == pytest.approx(185.0)


def test_an_hour_without_readings_gives_an_hour_no_credit() -> None:
    """A 60 min gap at 20 °C moves late from 180 to 240 min and is named.

    Source: calculation study, A2 gap.
    """
    readings = log_of([*range(0, 61, 5), *range(120, 181, 5)], lambda _: 20.0)
    estimate = _after(180.0, replace(STEADY_20, readings=readings))

    assert minutes_after(NOON, estimate.best) == pytest.approx(180.0)
    assert minutes_after(NOON, estimate.hold_until) == pytest.approx(240.0)
    assert estimate.status == CureStatus.RUNNING
    assert "gap" in estimate.flags


@pytest.mark.parametrize(
    ("every_min", "counts"),
    [
        (15.0, True),  # just the silence that still counts: every minute has credit
        (15.01, False),  # a breath longer: none has
    ],
)
def test_readings_a_quarter_of_an_hour_apart_still_count(every_min: float, *, counts: bool) -> None:
    """Unless the contract says another longest gap, it is 15 min."""
    readings = log_of([every_min * step for step in range(8)], lambda _: 20.0)
    estimate = _after(7 * every_min, replace(STEADY_20, readings=readings))

    assert estimate.dose_late == pytest.approx(7 * every_min / 180.0 if counts else 0.0)
    assert ("gap" in estimate.flags) is not counts


@pytest.mark.parametrize("order", [(14.0, 20.0), (20.0, 14.0)])
def test_of_two_readings_with_one_stamp_the_colder_counts(order: tuple[float, float]) -> None:
    """A conflicting duplicate cannot warm the pipe, whichever comes last.

    Source: calculation study, "Mutation check": properties alone do not see this.
    """
    others = tuple(one for one in STEADY_20.readings if one.at != NOON + timedelta(minutes=60))
    colder = replace(STEADY_20, readings=(*others, *log_of([60], lambda _: 14.0)))
    conflict = tuple(Reading(NOON + timedelta(minutes=60), at_c) for at_c in order)

    found = _after(120.0, replace(STEADY_20, readings=(*others, *conflict)))

    assert found == _after(120.0, colder)
    assert minutes_after(NOON, found.late) > 180.5


def test_a_hair_warmer_reading_never_makes_it_later() -> None:
    """One reading raised from 12.40 to 12.70 °C in steps: the late bound only falls.

    A filter that replaces outliers (Hampel) keeps 12.49 and throws 12.51 out, so that a
    warmer pipe would cure later. Source: calculation study, A5 and "Mutation check".
    """
    late = []
    for step in range(31):
        pattern = [12.45] * 12 + [12.40 + 0.01 * step, 12.55, 12.45, 12.7] + [12.45] * 9
        log = log_of(range(0, 121, 5), lambda minute, row=pattern: row[int(minute) // 5])
        inputs = replace(STEADY_20, readings=log, declared_wall_c=13.0)
        late.append(minutes_after(NOON, _after(120.0, inputs).late))

    assert late == sorted(late, reverse=True)
    assert late[-1] < late[0]


def test_one_spike_gains_nothing() -> None:
    """A 45 °C spike in a 12 °C log leaves the late bound at 339.01 min.

    Source: A5-spike of core_reference.csv.
    """
    steady = replace(
        STEADY_20, readings=log_of(range(0, 121, 5), lambda _: 12.0), declared_wall_c=12.0
    )
    spiky = replace(
        steady,
        readings=log_of(range(0, 121, 5), lambda minute: 45.0 if minute == 60 else 12.0),
    )

    assert _after(120.0, spiky).late == _after(120.0, steady).late
    assert minutes_after(NOON, _after(120.0, steady).late) == pytest.approx(339.01078757395385)
    assert "spike" in _after(120.0, spiky).flags


@pytest.mark.parametrize(
    ("wall_c", "status"),
    [
        (5.0, CureStatus.RUNNING),  # the coldest row itself
        (4.9, CureStatus.CANNOT_TELL),  # below it: no answer, not an extrapolation
    ],
)
def test_below_the_chart_nobody_can_tell(wall_c: float, status: CureStatus) -> None:
    """A pipe colder than the coldest row has no cure time."""
    inputs = replace(
        STEADY_20, readings=log_of(range(0, 61, 5), lambda _: wall_c), declared_wall_c=wall_c
    )
    estimate = _after(60.0, inputs)

    assert estimate.status == status
    assert (estimate.hold_until is None) is (status == CureStatus.CANNOT_TELL)
    assert ("below_chart" in estimate.flags) is (status == CureStatus.CANNOT_TELL)


def test_a_cold_hour_in_the_past_only_gives_no_credit() -> None:
    """After an hour at 2 °C the clock runs on from the warm part of the log."""
    readings = log_of(range(0, 121, 5), lambda minute: 2.0 if minute < 60 else 20.0)
    estimate = _after(120.0, replace(STEADY_20, readings=readings))

    assert estimate.status == CureStatus.RUNNING
    assert minutes_after(NOON, estimate.late) == pytest.approx(240.0)
    assert "below_chart" in estimate.flags


def test_after_a_cold_hour_the_charts_own_time_begins_anew() -> None:
    """2 °C for an hour, then 17: the 15 °C row's 266.27 min count from the warming."""
    readings = log_of(range(0, 121, 5), lambda minute: 2.0 if minute < 60 else 17.0)
    estimate = _after(120.0, replace(STEADY_20, readings=readings))

    assert estimate.static_minutes == pytest.approx(266.27, abs=0.01)
    assert minutes_after(NOON, estimate.hold_until) == pytest.approx(60.0 + 266.27, abs=0.01)


def test_heat_above_the_chart_gives_no_further_credit() -> None:
    """At 44 °C the hottest row's 60.01 min hold, with a flag."""
    readings = log_of(range(0, 61, 5), lambda _: 44.0)
    estimate = _after(0.0, replace(STEADY_20, readings=readings, declared_wall_c=35.0))

    assert minutes_after(NOON, estimate.best) == pytest.approx(60.0117, abs=1e-3)
    assert "above_chart" in estimate.flags


def test_degrees_fahrenheit_taken_for_celsius_are_not_believed() -> None:
    """50 °F typed as 50 °C would be let go 6.7 times too soon; it is left out and named."""
    readings = log_of(range(0, 61, 5), lambda _: 50.0)
    estimate = _after(60.0, replace(STEADY_20, readings=readings, declared_wall_c=None))

    assert estimate.status == CureStatus.CANNOT_TELL
    assert estimate.flags == ("implausible", "no_temperature")


@pytest.mark.parametrize(
    ("minutes", "status"),
    [
        (-1.0, CureStatus.NOT_STARTED),  # a minute before the start nothing is missing yet
        (0.0, CureStatus.CANNOT_TELL),  # the instant it starts
        (60.0, CureStatus.CANNOT_TELL),  # an hour on
    ],
)
def test_without_any_temperature_nobody_can_tell(minutes: float, status: CureStatus) -> None:
    """No reading, no declaration, no time; the crew is told what to do."""
    estimate = _after(minutes, replace(STEADY_20, readings=(), declared_wall_c=None))

    assert estimate.status == status
    assert estimate.hold_until is None
    assert estimate.flags == ("no_temperature",)
    assert estimate.working == (
        "No temperature is known, so nothing can be computed. Measure the pipe wall.",
    )


@pytest.mark.parametrize(
    ("declared_c", "static_min"),
    [
        (20.0, 180.0),  # on a row
        (17.0, 266.27),  # between two: the colder one, as printed
        (None, None),  # nobody said
    ],
)
def test_a_clock_without_a_start_only_knows_the_chart(
    declared_c: float | None, static_min: float | None
) -> None:
    """Before mixing the crew may still read the chart's time at the declared wall."""
    estimate = _after(0.0, replace(STEADY_20, started_at=None, declared_wall_c=declared_c))

    assert estimate.status == CureStatus.NOT_STARTED
    assert estimate.hold_until is None
    assert estimate.static_minutes == (
        None if static_min is None else pytest.approx(static_min, abs=0.01)
    )
    assert (estimate.dose_best, estimate.dose_late, estimate.percent) == (0.0, 0.0, 0.0)
    assert estimate.flags == ("not_begun",)


def test_a_declared_wall_alone_is_reckoned_from_the_start_on_the_cold_side() -> None:
    """20 °C declared, nothing read: best 180 min, late 194.45 as of a sensor 1 K off.

    Source: A2-tol-1C of core_reference.csv.
    """
    inputs = replace(STEADY_20, readings=(), sensor_tolerance_k=1.0)
    estimate = _after(60.0, inputs)

    assert minutes_after(NOON, estimate.best) == pytest.approx(180.0)
    assert minutes_after(NOON, estimate.late) == pytest.approx(194.45390690004461)
    assert estimate.dose_best == pytest.approx(60.0 / 180.0)


def test_without_a_declared_wall_the_first_reading_is_read_off_the_chart() -> None:
    """The chart's own time must come from somewhere, and the result says from where."""
    estimate = _after(0.0, replace(STEADY_20, declared_wall_c=None))

    assert estimate.static_minutes == pytest.approx(180.0)
    assert "wall_not_declared" in estimate.flags


def test_a_result_once_complete_stays_complete() -> None:
    """Cold water after the end of the cure does not undo it."""
    readings = log_of(range(0, 301, 5), lambda minute: 20.0 if minute <= 200 else 6.0)
    inputs = replace(STEADY_20, readings=readings)

    assert _after(200.0, inputs).status == CureStatus.COMPLETE
    assert _after(300.0, inputs).status == CureStatus.COMPLETE


def test_the_working_names_chart_numbers_and_hold() -> None:
    """An engineer can follow the result line by line."""
    text = "\n".join(_after(90.0).working)

    for part in ("invented 1", "180 min at 20 °C", "0.5000", "20.0 °C (68.0 °F)", "15:00:00"):
        assert part in text
    assert "maker's instructions prevail" in text


@pytest.mark.parametrize(
    ("deflated_min", "status"),
    [
        (179.9, DeflationStatus.TOO_EARLY),  # before the chart's own time
        (180.0, DeflationStatus.CANNOT_TELL),  # the chart's own time to the second
        (185.0, DeflationStatus.CANNOT_TELL),  # after the chart, before the late bound of 194
        (194.5, DeflationStatus.HELD),  # after the late bound
        (-5.0, DeflationStatus.CANNOT_TELL),  # before the clock began: times are wrong
    ],
)
def test_a_deflation_is_judged_against_the_hold(
    deflated_min: float, status: DeflationStatus
) -> None:
    """Too early is said only where it is sure; in between a person decides."""
    inputs = replace(STEADY_20, sensor_tolerance_k=1.0)

    assert judge_deflation(inputs, NOON + timedelta(minutes=deflated_min)) == status


@pytest.mark.parametrize(
    ("deflated_min", "status"),
    [
        (302.4, DeflationStatus.TOO_EARLY),  # past the row's 240 min, before the early bound
        (302.5, DeflationStatus.CANNOT_TELL),  # at the early bound
        (304.9, DeflationStatus.CANNOT_TELL),  # between early and hold
        (305.0, DeflationStatus.HELD),  # at the hold
    ],
)
def test_a_cold_start_moves_every_bound_of_a_deflation(
    deflated_min: float, status: DeflationStatus
) -> None:
    """240 min at 15 °C; the wall leaves 10 °C after 60 min and reads 20 °C from 65 on.

    By hand: a straight line crosses 15 °C at 62.5 min, so early is 302.5; the cold side
    counts from 65, so the hold is 305.
    """
    inputs = replace(
        STEADY_20,
        chart=Chart((ChartRow(15.0, 240.0),), ClockStart.INFLATION, 0.0, "x", "x"),
        readings=log_of(range(0, 401, 5), lambda minute: 10.0 if minute <= 60 else 20.0),
    )

    assert judge_deflation(inputs, NOON + timedelta(minutes=deflated_min)) == status


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("sensor_tolerance_k", -0.1),  # a tolerance is no correction
        ("model_allowance", -0.05),  # an allowance never shortens
        ("longest_gap_s", 0.0),  # no log could ever count
        ("declared_wall_c", float("nan")),  # no temperature
    ],
)
def test_impossible_inputs_are_refused_by_name(field: str, value: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=f"^{field}: found"):
        replace(STEADY_20, **{field: value})


def test_a_logger_every_half_second_may_have_gaps_of_a_second() -> None:
    """Any longest gap above 0 is one; half a second leaves gaps in a log every five minutes."""
    estimate = _after(90.0, replace(STEADY_20, longest_gap_s=0.5))

    assert "gap" in estimate.flags
    assert estimate.dose_late == 0.0


def test_instants_need_an_offset() -> None:
    """A naive time is refused by its name."""
    naive = NOON.replace(tzinfo=None)

    with pytest.raises(ValueError, match=r"^now:"):
        cure_clock(STEADY_20, naive)
    with pytest.raises(ValueError, match=r"^started_at:"):
        cure_clock(replace(STEADY_20, started_at=naive), NOON)


cure_inputs = st.builds(
    CureInputs,
    chart=charts(),
    started_at=st.just(NOON),
    readings=logs(),
    declared_wall_c=st.none() | st.floats(0.0, 30.0),
    sensor_tolerance_k=st.floats(0.0, 2.0),
    model_allowance=st.sampled_from([0.0, 0.05, 0.1]),
    longest_gap_s=st.sampled_from([300.0, 900.0, 3600.0]),
)
elapsed = st.integers(0, 300).map(float)


@given(inputs=cure_inputs, minutes=elapsed)
def test_early_best_and_late_stand_in_order(inputs: CureInputs, minutes: float) -> None:
    """Whatever the log: early <= best <= late <= hold, as far as each is known."""
    estimate = _after(minutes, inputs)

    known = [
        at
        for at in (estimate.early, estimate.best, estimate.late, estimate.hold_until)
        if at is not None
    ]
    assert known == sorted(known)
    assert set(estimate.flags) <= set(FLAG_WORDS)


@given(inputs=cure_inputs, minutes=elapsed)
def test_the_hold_is_never_shorter_than_the_chart(inputs: CureInputs, minutes: float) -> None:
    """Never under the chart's own time, never under its hottest row."""
    estimate = _after(minutes, inputs)
    if estimate.hold_until is None:
        assert estimate.status in {CureStatus.CANNOT_TELL, CureStatus.NOT_STARTED}
        return
    held_min = minutes_after(NOON, estimate.hold_until)

    assert estimate.static_minutes is not None
    assert held_min >= estimate.static_minutes - 1e-6
    assert held_min >= inputs.chart.rows[-1].minutes - 1e-6


@given(inputs=cure_inputs, minutes=elapsed, rise_k=st.floats(0.0, 5.0))
def test_a_warmer_log_is_never_later(inputs: CureInputs, minutes: float, rise_k: float) -> None:
    """Raising every reading never moves any instant back, nor makes a known one unknown."""
    warmer = replace(
        inputs,
        readings=tuple(Reading(one.at, one.temperature_c + rise_k) for one in inputs.readings),
    )

    cold, warm = _after(minutes, inputs), _after(minutes, warmer)

    for name in ("early", "best", "late", "hold_until"):
        before, after = getattr(cold, name), getattr(warm, name)
        if before is not None:
            assert after is not None
            assert after <= before + timedelta(milliseconds=1)


@given(
    tenths=st.lists(st.integers(120, 130), min_size=9, max_size=25),
    which=st.integers(0, 24),
    more_k=st.floats(0.01, 3.0),
)
def test_one_warmer_reading_is_never_later(tenths: list[int], which: int, more_k: float) -> None:
    """In a pipe that hovers around 12.5 °C, one reading raised moves no bound back."""
    at_c = [each / 10.0 for each in tenths]
    raised = [one + more_k * (place == which % len(at_c)) for place, one in enumerate(at_c)]
    now_min = 5.0 * (len(at_c) - 1)

    cold, warm = (
        _after(
            now_min,
            replace(
                STEADY_20,
                readings=log_of(range(0, int(now_min) + 1, 5), lambda m, row=row: row[int(m) // 5]),
                declared_wall_c=12.5,
            ),
        )
        for row in (at_c, raised)
    )

    assert minutes_after(NOON, warm.late) <= minutes_after(NOON, cold.late) + 1e-6
    assert minutes_after(NOON, warm.hold_until) <= minutes_after(NOON, cold.hold_until) + 1e-6


@given(inputs=cure_inputs, minutes=elapsed, shift_h=st.integers(-5000, 5000))
def test_moving_everything_in_time_moves_the_result(
    inputs: CureInputs, minutes: float, shift_h: int
) -> None:
    """Only times since the start matter."""
    shift = timedelta(hours=shift_h)
    moved = replace(
        inputs,
        started_at=NOON + shift,
        readings=tuple(Reading(one.at + shift, one.temperature_c) for one in inputs.readings),
    )

    here = _after(minutes, inputs)
    there = cure_clock(moved, NOON + shift + timedelta(minutes=minutes))

    assert (here.status, here.dose_late, here.flags) == (there.status, there.dose_late, there.flags)
    assert there.hold_until == (None if here.hold_until is None else here.hold_until + shift)


@given(inputs=cure_inputs, minutes=elapsed, data=st.data())
def test_order_and_repetition_of_readings_change_nothing(
    inputs: CureInputs, minutes: float, data: st.DataObject
) -> None:
    """A log sent twice, in any order, is the same log."""
    again = data.draw(st.permutations(inputs.readings + inputs.readings))

    assert _after(minutes, replace(inputs, readings=tuple(again))) == _after(minutes, inputs)


@given(inputs=cure_inputs, minutes=elapsed)
def test_complete_means_the_hold_is_over(inputs: CureInputs, minutes: float) -> None:
    """Complete, 100 % and now >= hold are one and the same."""
    estimate = _after(minutes, inputs)
    now = NOON + timedelta(minutes=minutes)

    is_over = estimate.hold_until is not None and now >= estimate.hold_until

    assert (estimate.status == CureStatus.COMPLETE) is is_over
    assert 0.0 <= estimate.percent <= 100.0
    assert (estimate.percent == 100.0) is is_over


@given(minutes=st.integers(1, 100))
def test_a_longer_log_never_has_less_dose(minutes: int) -> None:
    """At a constant pipe, waiting never takes dose away (to rounding)."""
    shorter, longer = _after(float(minutes)), _after(float(minutes + 1))

    assert longer.dose_late >= shorter.dose_late - 1e-12


def test_a_one_row_chart_serves_a_pipe_at_least_that_warm() -> None:
    """One row: its time at and above its temperature."""
    chart = Chart((ChartRow(15.0, 240.0),), ClockStart.INFLATION, 0.0, "x", "x")

    assert minutes_after(NOON, _after(0.0, replace(STEADY_20, chart=chart)).hold_until) == 240.0


@pytest.mark.parametrize(
    ("cold_at", "cold_c", "static_min"),
    [
        ((), 22.0, 105),  # never cold: the row at 20 degC
        ((50,), 19.0, 160),  # once a degree below the row: the row before, or anew
        (tuple(range(0, 301, 30)), 12.0, 240),  # every third reading cold: the cold row
    ],
)
def test_a_cold_reading_is_never_dismissed_as_a_spike(
    cold_at: tuple[int, ...], cold_c: float, static_min: float
) -> None:
    """However many warm readings lie around it, the chart is read no warmer than it."""
    log = log_of(range(0, 301, 10), lambda minute: cold_c if minute in cold_at else 22.0)
    inputs = replace(STEADY_20, readings=log, declared_wall_c=22.0)

    hold = minutes_after(NOON, _after(300.0, inputs).hold_until)

    assert hold >= min(static_min, max(cold_at, default=0) + 105)
