"""How much of a chart's time a changing temperature uses up."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from repairs.domain.chart import Chart, ChartRule, minutes_at
from repairs.domain.dose import (
    Profile,
    colder_end_dose,
    dose,
    interval_doses,
    line_profile,
    minute_at_dose,
)
from tests.repairs.cure_examples import arrhenius_chart, arrhenius_min, charts

COOLING_MIN = np.array([0.0, 30.0, 60.0, 120.0])
COOLING_C = np.array([22.0, 18.0, 14.0, 12.0])


@st.composite
def temperature_lines(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Two to eight readings joined by lines, over all of a chart and past both ends."""
    steps = draw(st.lists(st.floats(0.5, 90.0), min_size=1, max_size=7))
    at_c = draw(st.lists(st.floats(-15.0, 50.0), min_size=len(steps) + 1, max_size=len(steps) + 1))
    return np.concatenate([[0.0], np.cumsum(steps)]), np.array(at_c)


def test_a_cooling_log_is_reckoned_exactly() -> None:
    """22, 18, 14, 12 °C at 0, 30, 60, 120 min use 0.4818317050539885.

    Source: A2-dose-ramp of core_reference.csv (exponential integral and quadrature).
    """
    assert dose(arrhenius_chart(), COOLING_MIN, COOLING_C) == pytest.approx(
        0.4818317050539885, rel=1e-10
    )


def test_the_colder_end_gives_less_than_the_truth() -> None:
    """The same log at the colder end of each interval uses 0.42373.

    Source: calculation study, A2 (computed).
    """
    assert colder_end_dose(arrhenius_chart(), COOLING_MIN, COOLING_C) == pytest.approx(
        0.42373, abs=5e-6
    )


def test_a_constant_temperature_uses_the_chart_evenly() -> None:
    """An hour and a half at 20 °C is half of 180 min."""
    used = dose(arrhenius_chart(), np.array([0.0, 90.0]), np.array([20.0, 20.0]))

    assert used == pytest.approx(0.5, rel=1e-12)


def test_a_degree_between_two_readings_costs_four_per_cent() -> None:
    """From 15 to 14 °C in 5 min the colder end loses 3.95 % of the dose.

    Source: A2-lower-sum-loss of core_reference.csv; first order E/(R T2) dT/2, 3 % tolerance.
    """
    minutes, at_c = np.array([0.0, 5.0]), np.array([15.0, 14.0])

    loss = 1 - colder_end_dose(arrhenius_chart(), minutes, at_c) / dose(
        arrhenius_chart(), minutes, at_c
    )

    assert loss == pytest.approx(0.03948531891235918, rel=1e-6)
    assert loss == pytest.approx(0.03983467341426482, rel=0.03)


def test_by_the_colder_row_nothing_between_two_rows_is_estimated() -> None:
    """At 17 °C the 15 °C row's 266.27 min count, for the dose and for its time."""
    chart, rule = arrhenius_chart(), ChartRule.COLDER_ROW
    minutes, at_c = np.array([0.0, 100.0, 120.0, 200.0]), np.full(4, 17.0)
    whole_min = arrhenius_min(15.0)

    assert dose(chart, minutes, at_c, rule) == pytest.approx(200.0 / whole_min)
    assert colder_end_dose(chart, minutes, at_c, rule) == pytest.approx(200.0 / whole_min)
    assert minute_at_dose(chart, line_profile(minutes, at_c), rule, 0.5) == pytest.approx(
        whole_min / 2.0
    )
    # From 15 to 19 °C it is the same row all the way.
    rising = line_profile(minutes[[0, -1]], np.array([15.0, 19.0]))
    assert minute_at_dose(chart, rising, rule, 0.5) == pytest.approx(whole_min / 2.0)


def test_two_readings_with_one_stamp_are_a_jump() -> None:
    """15 °C for an hour, 20 for another, with nothing between: times may stand still."""
    used = dose(
        arrhenius_chart(), np.array([0.0, 60.0, 60.0, 120.0]), np.array([15.0, 15.0, 20.0, 20.0])
    )

    assert used == pytest.approx(60.0 / arrhenius_min(15.0) + 60.0 / 180.0)


def test_nothing_is_used_below_the_chart() -> None:
    """A line from 0 to 10 °C counts only from where it crosses the 5 °C row."""
    chart = arrhenius_chart()

    whole = dose(chart, np.array([0.0, 60.0]), np.array([0.0, 10.0]))
    upper = dose(chart, np.array([30.0, 60.0]), np.array([5.0, 10.0]))

    assert whole == pytest.approx(upper, rel=1e-12)


def test_an_unknown_stretch_uses_nothing() -> None:
    """NaN in an interval leaves the others as they are."""
    profile = Profile(
        np.array([0.0, 10.0, 20.0]), np.array([np.nan, 20.0]), np.array([np.nan, 20.0])
    )

    assert interval_doses(arrhenius_chart(), profile, ChartRule.ARRHENIUS).tolist() == (
        pytest.approx([0.0, 10.0 / 180.0])
    )


def test_a_dose_never_reached_has_no_time() -> None:
    """A short log does not reach the end, and says so."""
    profile = line_profile(COOLING_MIN, COOLING_C)

    assert minute_at_dose(arrhenius_chart(), profile, ChartRule.ARRHENIUS, 1.0) is None


PAIRS = r"^minutes, temperature_c: found shapes .*, expected two columns of one length\.$"


@pytest.mark.parametrize(
    ("minutes", "at_c", "message"),
    [
        ([0.0, 1.0], [20.0], PAIRS),  # a reading is missing
        ([], [], PAIRS),  # nothing at all
        ([0.0, 2.0, 1.0], [20.0, 20.0, 20.0], "^minutes: found a time before"),  # backwards
    ],
)
def test_columns_that_do_not_match_are_refused(
    minutes: list[float], at_c: list[float], message: str
) -> None:
    """Times and temperatures come in pairs, in order."""
    for rule in (dose, colder_end_dose):
        with pytest.raises(ValueError, match=message):
            rule(arrhenius_chart(), np.array(minutes), np.array(at_c))


@given(chart=charts(), line=temperature_lines(), rule=st.sampled_from(ChartRule))
def test_the_colder_end_is_a_lower_bound(
    chart: Chart, line: tuple[np.ndarray, np.ndarray], rule: ChartRule
) -> None:
    """Whatever the log, the colder-end dose is never more than the dose."""
    assert colder_end_dose(chart, *line, rule) <= dose(chart, *line, rule) * (1 + 1e-12) + 1e-15


@given(line=temperature_lines())
def test_four_gauss_points_agree_with_adaptive_quadrature(
    line: tuple[np.ndarray, np.ndarray],
) -> None:
    """An independent integration of the same rate gives the same dose."""
    chart, (minutes, at_c) = arrhenius_chart(), line
    rows_c = [row.temperature_c for row in chart.rows]

    def rate(minute: float, first: int) -> float:
        span = minutes[first + 1] - minutes[first]
        here = at_c[first] + (at_c[first + 1] - at_c[first]) * (minute - minutes[first]) / span
        return 0.0 if here < 5.0 else 1.0 / arrhenius_min(min(here, 35.0))

    total = 0.0
    for first in range(len(minutes) - 1):
        span, rise = minutes[first + 1] - minutes[first], at_c[first + 1] - at_c[first]
        cuts = [
            minutes[first] + (row - at_c[first]) / rise * span
            for row in rows_c
            if min(at_c[first : first + 2]) < row < max(at_c[first : first + 2])
        ]
        edges = [minutes[first], *sorted(cuts), minutes[first + 1]]
        total += sum(
            quad(rate, low, high, args=(first,), epsabs=1e-13)[0]
            for low, high in itertools.pairwise(edges)
        )

    assert dose(chart, minutes, at_c) == pytest.approx(total, rel=1e-8, abs=1e-12)


@given(chart=charts(), line=temperature_lines(), rise_k=st.floats(0.0, 10.0))
def test_a_warmer_log_never_uses_less(
    chart: Chart, line: tuple[np.ndarray, np.ndarray], rise_k: float
) -> None:
    """Raising all temperatures never lowers the dose."""
    minutes, at_c = line

    assert dose(chart, minutes, at_c) <= dose(chart, minutes, at_c + rise_k) + 1e-12


@given(chart=charts(), line=temperature_lines(), share=st.floats(0.01, 1.0))
def test_the_time_of_a_dose_has_that_dose_before_it(
    chart: Chart, line: tuple[np.ndarray, np.ndarray], share: float
) -> None:
    """Cutting a log where a dose is reached leaves just that dose."""
    minutes, at_c = line
    target = share * dose(chart, minutes, at_c)
    if target < 1e-9:
        return

    at = minute_at_dose(chart, line_profile(minutes, at_c), ChartRule.ARRHENIUS, target)

    assert at is not None
    cut = np.append(minutes[minutes < at], at)
    assert dose(chart, cut, np.interp(cut, minutes, at_c)) == pytest.approx(target, rel=1e-9)


@given(chart=charts(), at_c=st.floats(-10.0, 50.0), minutes=st.floats(1.0, 500.0))
def test_a_constant_log_is_time_over_chart_time(chart: Chart, at_c: float, minutes: float) -> None:
    """At one temperature the dose is elapsed over chart minutes, by either rule."""
    for rule in ChartRule:
        whole = minutes_at(chart, at_c, rule)
        used = dose(chart, np.array([0.0, minutes]), np.array([at_c, at_c]), rule)
        assert used == pytest.approx(0.0 if whole is None else minutes / whole, rel=1e-12)
