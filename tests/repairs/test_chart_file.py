"""A file of charts: whole charts or none, each fault with its line. All charts are invented."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import ChartRow
from repairs.domain.chart_file import ReadChart, read_charts
from repairs.domain.order_file import cut_csv

HEAD = (
    "resin_system,purpose,version,diameter_min_mm,diameter_max_mm,clock_start,rounding_min,"
    "source,temperature_c,minutes"
)
CURE = "RESIN-X,cure,2026,150,400,inflation,5,invented"
WORKING = "RESIN-X,working,2026,150,400,mixing,1,invented"


def _read(*lines: str, head: str = HEAD) -> tuple[ReadChart, ...]:
    return read_charts(cut_csv("\n".join((head, *lines)) + "\n"))


def test_lines_of_one_chart_become_one_chart() -> None:
    """Whatever their order; two purposes are two charts."""
    cure, working = _read(f"{CURE},20,160", f"{WORKING},20,33", f"{CURE},5,400", f"{CURE},10,300")

    assert cure.sheet is not None
    assert cure.sheet.rows == (ChartRow(5, 400), ChartRow(10, 300), ChartRow(20, 160))
    assert (cure.lines, working.lines) == ((2, 4, 5), (3,))
    assert cure.name == "RESIN-X cure 2026"


def test_fahrenheit_and_inches_have_columns_of_their_own() -> None:
    """50 °F is 10 °C and 8 in is 203.2 mm, exactly."""
    head = HEAD.replace("_mm", "_in").replace("temperature_c", "temperature_f")
    (chart,) = _read("RESIN-X,cure,2026,6,8,inflation,5,invented,50,300", head=head)

    assert chart.sheet is not None
    assert chart.sheet.rows[0].temperature_c == pytest.approx(10.0)
    assert chart.sheet.diameter_max_mm == pytest.approx(203.2)


@pytest.mark.parametrize(
    ("line", "field", "expected"),
    [
        (",cure,2026,150,400,inflation,5,invented,10,300", "line 2, resin_system", "code"),
        (
            "RESIN-X,cure,2026,150,400,,5,invented,10,300",
            "line 2, clock_start",
            "one of mixing, wet_out, inflation",
        ),
        ("RESIN-X,set,2026,150,400,mixing,5,invented,10,300", "line 2, purpose", "cure, working"),
        (f"{CURE},,300", "line 2, temperature_c", "temperature_c, temperature_f"),
        (f"{CURE},90,300", "line 2, temperature_c", "-30 to 60"),
        (f"{CURE},10,0", "line 2, minutes", "0.1 to 43200"),
        ("RESIN-X,cure,2026,150,400,mixing,,invented,10,300", "line 2, rounding_min", "0 to 120"),
    ],
)
def test_a_line_that_cannot_be_understood_is_named(line: str, field: str, expected: str) -> None:
    """What starts the clock and how the chart is rounded have no default."""
    (chart,) = _read(line)

    assert chart.sheet is None
    assert chart.faults[0].field == field
    assert expected in chart.faults[0].expected


def test_half_a_chart_is_no_chart() -> None:
    """One mistyped line, and none of its chart is taken; the other chart is."""
    cure, working = _read(f"{CURE},5,400", f"{CURE},10,3oo", f"{WORKING},20,33")

    assert cure.sheet is None
    assert [fault.field for fault in cure.faults] == ["line 3, minutes"]
    assert working.sheet is not None


def test_a_chart_that_rises_with_temperature_is_refused() -> None:
    """Warmer and slower is a typing error."""
    (chart,) = _read(f"{CURE},5,300", f"{CURE},10,400")

    assert chart.sheet is None
    assert chart.faults[0].field == "line 3, minutes"
    assert "at most the 300 min" in chart.faults[0].expected


def test_lines_that_contradict_each_other_are_named() -> None:
    """One chart has one start of its clock."""
    (chart,) = _read(f"{CURE},5,400", f"{CURE.replace('inflation', 'mixing')},10,300")

    assert [str(fault) for fault in chart.faults] == [
        "line 3, clock_start: found 'mixing', expected 'inflation' as on line 2"
    ]


@given(st.lists(st.integers(0, 30), min_size=1, max_size=12, unique=True), st.randoms())
def test_the_order_of_the_lines_changes_nothing(degrees: list[int], chance: random.Random) -> None:
    """Shuffled lines make the same chart."""
    lines = [f"{CURE},{each},{500 - 10 * each}" for each in degrees]
    shuffled = chance.sample(lines, len(lines))

    assert _read(*shuffled)[0].sheet == _read(*lines)[0].sheet
