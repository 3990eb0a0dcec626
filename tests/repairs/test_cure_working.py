"""The working of a cure estimate can be followed line by line."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.cure_working import CureFigures, cure_working
from tests.repairs.cure_examples import NOON, arrhenius_chart

HALF_WAY = CureFigures(
    elapsed_min=90.0,
    early_min=166.7,
    best=(0.5, 180.0),
    late=(0.46, 205.0),
    needed=1.05,
    static_c=20.0,
    static_min=180.0,
    future_best_c=20.0,
    future_late_c=19.0,
)


@pytest.mark.parametrize(
    ("late_min", "static_min", "hold_min"),
    [
        (205.0, 180.0, 205.0),  # the late bound is later
        (170.0, 180.0, 180.0),  # the chart is later: never undercut
        (None, 180.0, None),  # no late bound, no hold
        (205.0, None, None),  # the chart is silent, no hold
    ],
)
def test_the_hold_is_the_later_of_two_or_unknown(
    late_min: float | None, static_min: float | None, hold_min: float | None
) -> None:
    """Late bound and chart time must both be known."""
    figures = replace(HALF_WAY, late=(0.46, late_min), static_min=static_min)

    assert figures.hold_min == hold_min


def test_each_line_names_its_numbers() -> None:
    """Chart, chart time, dose, late dose, assumption, bounds, hold and caution."""
    lines = cure_working(arrhenius_chart(5.0), 1.0, HALF_WAY, NOON)

    assert "counted from inflation" in lines[0]
    assert "Chart time = 180 min" in lines[1]
    assert "0.5000 after 90.0 min" in lines[2]
    assert "0.4600 of 1.050 needed" in lines[3]
    assert "1 K sensor tolerance off, 2.5 min chart rounding added, 5.0% model" in lines[3]
    assert "19.0 °C (66.2 °F) for the late bound" in lines[4]
    assert "Early 166.7 min, best 180.0 min, late 205.0 min" in lines[5]
    assert "205.0 min, until 2026-11-25T15:25:00+00:00" in lines[6]
    assert "maker's instructions prevail" in lines[7]


def test_the_unknown_is_said_not_hidden() -> None:
    """Below the chart the lines say so instead of a number."""
    cold = replace(
        HALF_WAY, early_min=None, best=(0.1, None), late=(0.0, None), static_min=None, static_c=2.0
    )
    text = "\n".join(cure_working(arrhenius_chart(), 1.0, cold, NOON))

    assert "the chart is silent below its coldest row" in text
    assert "Early unknown, best unknown, late unknown" in text
    assert "Hold: cannot tell" in text


@given(dose=st.floats(0.0, 3.0), elapsed_min=st.floats(0.0, 1000.0))
def test_the_share_shown_is_the_slower_of_dose_and_time(dose: float, elapsed_min: float) -> None:
    """Never more than the late dose, the chart time, or the whole."""
    figures = replace(HALF_WAY, late=(dose, 205.0), elapsed_min=elapsed_min)

    assert figures.percent == pytest.approx(100.0 * min(1.0, dose / 1.05, elapsed_min / 180.0))
