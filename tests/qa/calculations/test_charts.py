import pytest

from qa.calculations.registry import CALCULATIONS
from repairs.domain.chart import ChartRow, activation_energy_kj_mol
from tests.qa.calculations.asking import faults, of, run


def test_a_chart_that_rises_is_refused_row_by_row() -> None:
    """The fault points into the chart, lists counted from 0."""
    chart = CALCULATIONS["chart"].example["chart"]
    rows = [{"temperature": of(10, "degC"), "minutes": m} for m in (100, 120)]

    assert set(faults("chart", chart={**chart, "rows": rows})) == {"chart.rows[1].temperature"}


def test_a_fahrenheit_difference_has_no_32_in_it() -> None:
    """A tolerance of 1.8 °F is one of 1 K."""
    fahrenheit = run("cure-clock", sensor_tolerance=of(1.8, "degF"))
    kelvin = run("cure-clock", sensor_tolerance=of(1, "K"))

    assert fahrenheit["result"]["late"][:19] == kelvin["result"]["late"][:19]


def test_without_now_the_clock_is_asked_for_the_present() -> None:
    """`now` may be left out; the example's own is the same instant."""
    assert run("cure-clock", now=None) == run("cure-clock")


def test_a_clock_that_has_not_begun_says_so_in_words() -> None:
    """Each code among the flags has its plain words beside it."""
    found = run("cure-clock", started_at=None)

    assert found["result"]["status"] == "not_started"
    assert found["flag_words"] == {"not_begun": "The clock has not begun yet."}


def test_a_chart_reads_the_colder_row_below_the_estimate() -> None:
    """55 °F lie between 10 and 15 °C: the row of 10 °C releases."""
    found = run("chart")["result"]

    assert found["colder_row"]["value"] == 300
    assert 220 < found["arrhenius"]["value"] < 300
    by_hand = activation_energy_kj_mol(ChartRow(5, 400), ChartRow(10, 300))
    assert found["activation_energies"][0] == of(pytest.approx(by_hand), "kJ/mol")


def test_below_the_chart_nothing_is_known() -> None:
    """The chart is never carried on into the cold."""
    found = run("chart", temperature=of(4, "degC"))

    assert found["result"]["colder_row"] is None
    assert "silent" in found["working"][0]
