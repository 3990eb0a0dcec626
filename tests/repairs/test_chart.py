"""The maker's chart is authority: it is never carried on into the cold nor the heat."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import (
    Chart,
    ChartRow,
    ChartRule,
    ClockStart,
    activation_energy_kj_mol,
    chart_faults,
    check_chart,
    minutes_at,
    rate_per_min,
    slowed,
)
from repairs.domain.problem import Fault
from tests.repairs.cure_examples import arrhenius_chart, arrhenius_min, charts

CHART = Chart(
    (ChartRow(10.0, 400.0), ChartRow(20.0, 180.0), ChartRow(30.0, 90.0)),
    ClockStart.MIXING,
    5.0,
    "invented",
    "invented",
)


@pytest.mark.parametrize(
    ("temperature_c", "minutes"),
    [
        (9.99, None),  # a hair below the coldest row: no answer, not a guess
        (10.0, 400.0),  # the coldest row itself counts
        (19.99, 400.0),  # between rows: the colder one
        (20.0, 180.0),  # exactly on a row
        (30.0, 90.0),  # the hottest row
        (45.0, 90.0),  # above: no further credit
    ],
)
def test_the_colder_row_is_never_shorter_than_the_chart(
    temperature_c: float, minutes: float | None
) -> None:
    """Between two rows the time of the colder one holds."""
    assert minutes_at(CHART, temperature_c, ChartRule.COLDER_ROW) == minutes


@pytest.mark.parametrize(
    ("temperature_c", "minutes"),
    [
        (9.99, None),  # a hair below the coldest row
        (10.0, 400.0),  # on a row both rules agree
        (20.0, 180.0),  # on a row both rules agree
        (45.0, 90.0),  # above: no further credit
    ],
)
def test_the_estimate_meets_the_chart_at_its_rows(
    temperature_c: float, minutes: float | None
) -> None:
    """Arrhenius between rows leaves the rows as printed."""
    found = minutes_at(CHART, temperature_c, ChartRule.ARRHENIUS)

    assert found == (None if minutes is None else pytest.approx(minutes, rel=1e-14))


def test_a_resin_of_one_energy_is_met_exactly_between_rows() -> None:
    """The estimate at 17.3 °C is 222.00965389789945 min.

    Source: A1-synthetic-17.3C of core_reference.csv (closed Arrhenius form, computed).
    """
    found = minutes_at(arrhenius_chart(), 17.3, ChartRule.ARRHENIUS)

    assert found == pytest.approx(222.00965389789945, rel=1e-12)


def test_a_chart_of_one_row_serves_from_that_temperature_on() -> None:
    """One row is a constant time, at and above it only."""
    one = Chart((ChartRow(15.0, 240.0),), ClockStart.INFLATION, 0.0, "invented", "invented")

    assert minutes_at(one, 14.9, ChartRule.ARRHENIUS) is None
    assert minutes_at(one, 22.0, ChartRule.ARRHENIUS) == 240.0


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ((), "rows: found none"),  # nothing to read
        (((20.0, 90.0), (10.0, 180.0)), r"rows\[1\].*rising temperatures"),  # upside down
        (((20.0, 90.0), (20.0, 80.0)), r"rows\[1\].*rising temperatures"),  # one row twice
        (((10.0, 90.0), (20.0, 91.0)), r"rows\[1\].*at most the 90 min"),  # slower when warmer
        (((10.0, 0.0),), r"rows\[0\].*minutes"),  # no time at all
        (((10.0, float("nan")),), r"rows\[0\].*minutes"),  # not a number
        (((77.0, 30.0),), r"rows\[0\].*is it °F"),  # 77 °F typed as °C
        (((float("nan"), 30.0),), r"rows\[0\]"),  # not a number
    ],
)
def test_an_impossible_chart_is_refused_by_row(
    rows: tuple[tuple[float, float], ...], message: str
) -> None:
    """The message names the row and what would be right."""
    with pytest.raises(ValueError, match=message):
        Chart(tuple(ChartRow(*row) for row in rows), ClockStart.MIXING, 0.0, "x", "x")


def test_what_starts_the_clock_must_be_said() -> None:
    """A chart without a known start is refused: charts differ in it."""
    with pytest.raises(ValueError, match="clock_start: found 'lunch'"):
        Chart((ChartRow(10.0, 90.0),), "lunch", 0.0, "x", "x")  # type: ignore[arg-type]


def test_every_fault_of_a_chart_is_named_at_once() -> None:
    """Rows are counted from 0, as in the JSON that was sent."""
    rows = [ChartRow(77.0, 30.0), ChartRow(20.0, 0.0), ChartRow(25.0, 10.0)]

    faults = chart_faults(rows, "lunch", -1.0)

    assert faults == (
        Fault("rows[0].temperature", "77 °C", "-30 to 60 °C; is it °F?"),
        Fault("rows[1].minutes", "0", "more than 0 and at most 43200"),
        Fault("rows[1].temperature", "20 °C after 77 °C", "rising temperatures"),
        Fault("rows[2].minutes", "10 min at 25 °C", "at most the 0 min of the colder row"),
        Fault("clock_start", "'lunch'", "mixing, wet_out, inflation"),
        Fault("rounding_min", "-1.0", "0 or more"),
    )
    assert chart_faults([], "mixing", 0.0) == (Fault("rows", "none", "at least one"),)


@pytest.mark.parametrize(
    ("at_c", "minutes", "wrong"),
    [
        (-30.0, 90.0, False),  # the coldest row that can be
        (-30.1, 90.0, True),  # colder
        (60.0, 90.0, False),  # the hottest
        (60.1, 90.0, True),  # hotter: °F?
        (20.0, 43_200.0, False),  # thirty days
        (20.0, 43_200.1, True),  # longer than any cure
        (20.0, 0.1, False),  # any time above 0 is one
        (20.0, 0.0, True),  # none at all
    ],
)
def test_a_row_at_the_edge_of_what_can_be_is_taken(
    at_c: float, minutes: float, *, wrong: bool
) -> None:
    """A step beyond it is refused."""
    assert bool(chart_faults([ChartRow(at_c, minutes)], "mixing", 0.0)) is wrong


@pytest.mark.parametrize(
    "rounding_min",
    [
        -1.0,  # no step
        180.0,  # a 90 min row rounded to 180 says nothing
        float("nan"),  # not a number
    ],
)
def test_an_impossible_rounding_is_refused(rounding_min: float) -> None:
    """The rounding step is 0 or more, and less than twice the shortest row."""
    with pytest.raises(ValueError, match="rounding_min"):
        Chart((ChartRow(10.0, 90.0),), ClockStart.MIXING, rounding_min, "x", "x")


def test_a_step_that_leaves_something_of_the_shortest_row_is_taken() -> None:
    """90 min in steps of 179 mean half a minute at least; in steps of 180 nothing."""
    rows = [ChartRow(10.0, 120.0), ChartRow(20.0, 90.0)]

    assert chart_faults(rows, "mixing", 179.0) == ()
    assert chart_faults(rows, "mixing", 180.0) == (
        Fault("rounding_min", "180.0", "less than twice the shortest row, 90 min"),
    )


def test_the_activation_energy_of_a_resin_is_found_again() -> None:
    """Two rows of a resin of 55 kJ/mol say 55 kJ/mol.

    Source: Arrhenius' law; the study's synthetic resin of one energy.
    """
    colder, warmer = arrhenius_chart().rows[1:3]

    assert activation_energy_kj_mol(colder, warmer) == pytest.approx(55.0, rel=1e-8)


@pytest.mark.parametrize(
    ("energy_kj_mol", "doubtful"),
    [
        (19.9, True),  # the rows hardly differ
        (20.1, False),  # just enough
        (149.9, False),  # just not too much
        (150.1, True),  # faster than any ambient-cure resin
    ],
)
def test_an_unusual_activation_energy_is_questioned(
    energy_kj_mol: float, *, doubtful: bool
) -> None:
    """20 to 150 kJ/mol are usual. Source of the bounds: from memory."""
    rows = tuple(ChartRow(at, arrhenius_min(at, 1000.0 * energy_kj_mol)) for at in (10.0, 20.0))

    assert bool(check_chart(Chart(rows, ClockStart.MIXING, 0.0, "x", "x"))) is doubtful


@pytest.mark.parametrize(
    ("warmer_min", "doubtful"),
    [
        (180.0, False),  # 55 kJ/mol: usual
        (399.0, True),  # the rows hardly differ
        (35.0, True),  # falls faster than any ambient-cure resin: 350 typed as 35?
    ],
)
def test_a_likely_typing_error_is_named_not_refused(warmer_min: float, *, doubtful: bool) -> None:
    """A pair of rows implying an unusual activation energy is questioned."""
    rows = (ChartRow(10.0, 400.0), ChartRow(20.0, warmer_min))

    warnings = check_chart(Chart(rows, ClockStart.MIXING, 0.0, "x", "x"))

    assert bool(warnings) is doubtful
    assert all("mistyped" in line for line in warnings)


def test_a_temperature_that_is_no_number_is_refused() -> None:
    """NaN must not be read off a chart."""
    with pytest.raises(ValueError, match="temperature_c"):
        minutes_at(CHART, float("nan"), ChartRule.COLDER_ROW)


def test_an_unknown_temperature_ages_nothing() -> None:
    """NaN and cold give rate 0, heat gives no more than the hottest row."""
    rate = rate_per_min(CHART, np.array([np.nan, 9.0, 30.0, 44.0]), ChartRule.ARRHENIUS)

    assert rate.tolist() == pytest.approx([0.0, 0.0, 1 / 90, 1 / 90])


def test_half_the_rounding_makes_each_row_slower() -> None:
    """A chart printed in fives may be 2.5 min off at each row."""
    rows = (ChartRow(10.0, 402.5), ChartRow(20.0, 182.5), ChartRow(30.0, 92.5))

    # It is the same chart otherwise, and its rounding is spent.
    assert slowed(CHART, 2.5) == replace(CHART, rows=rows, rounding_min=0.0)


@given(chart=charts(), temperature_c=st.floats(-10.0, 60.0))
def test_the_estimate_never_exceeds_the_colder_row(chart: Chart, temperature_c: float) -> None:
    """Arrhenius is at most the straight line, and that at most the colder row."""
    estimate = minutes_at(chart, temperature_c, ChartRule.ARRHENIUS)
    authority = minutes_at(chart, temperature_c, ChartRule.COLDER_ROW)
    if estimate is None or authority is None:
        assert estimate is authority is None
        return
    straight = np.interp(
        temperature_c,
        [row.temperature_c for row in chart.rows],
        [row.minutes for row in chart.rows],
    )

    assert estimate <= straight * (1 + 1e-12)
    assert straight <= authority * (1 + 1e-12)


@given(chart=charts(), rule=st.sampled_from(ChartRule), data=st.data())
def test_warmer_is_never_slower(chart: Chart, rule: ChartRule, data: st.DataObject) -> None:
    """The rate never falls with temperature."""
    low, high = sorted(data.draw(st.tuples(st.floats(-20.0, 60.0), st.floats(-20.0, 60.0))))

    slow, fast = rate_per_min(chart, np.array([low, high]), rule)

    assert slow <= fast * (1 + 1e-12)


@given(chart=charts(), rule=st.sampled_from(ChartRule), temperature_c=st.floats(-20.0, 60.0))
def test_a_rate_is_one_over_the_minutes(
    chart: Chart, rule: ChartRule, temperature_c: float
) -> None:
    """The quick way for columns and the way for one value agree."""
    minutes = minutes_at(chart, temperature_c, rule)
    rate = float(rate_per_min(chart, np.array([temperature_c]), rule)[0])

    assert rate == pytest.approx(0.0 if minutes is None else 1.0 / minutes, rel=1e-12)


@given(energy=st.floats(25_000.0, 140_000.0), temperature_c=st.floats(5.0, 34.9))
def test_any_single_energy_is_met_exactly(energy: float, temperature_c: float) -> None:
    """For a resin of one activation energy the estimate has no error."""
    rows = tuple(ChartRow(float(at), arrhenius_min(at, energy)) for at in (5, 15, 35))
    chart = Chart(rows, ClockStart.MIXING, 0.0, "x", "x")

    found = minutes_at(chart, temperature_c, ChartRule.ARRHENIUS)

    assert found == pytest.approx(arrhenius_min(temperature_c, energy), rel=1e-10)
    assert check_chart(chart) == ()
