"""The maker's chart is never undercut, however the wall's temperature went."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.static_time import StaticTime, static_time

CHART = Chart(
    rows=tuple(
        ChartRow(t, m) for t, m in ((10.0, 240.0), (15.0, 160.0), (20.0, 105.0), (25.0, 75.0))
    ),
    clock_start=ClockStart.INFLATION,
    rounding_min=5.0,
    version="invented",
    source="invented for the tests",
)
ROW_AT = {row.temperature_c: row.minutes for row in CHART.rows}


def _hold_min(edges: list[float], wall: list[float], declared: float | None) -> float | None:
    found = static_time(np.array(edges), np.array(wall), declared, CHART)
    return None if found.minutes is None else found.from_min + found.minutes


@pytest.mark.parametrize(
    ("wall", "declared", "minutes"),
    [
        (22.0, 22.0, 105),  # the row at or below
        (14.9, 22.0, 240),  # measured colder than declared: the measured one governs
        (19.5, 22.0, 160),  # half a degree below a row is the row before
        (22.0, 12.0, 240),  # declared colder than measured: the declared one governs
        (20.0, None, 105),  # exactly on a row
        (40.0, None, 75),  # no credit above the hottest row
        (9.9, 22.0, None),  # below the chart it is silent
    ],
)
def test_a_steady_wall_is_read_off_the_row_at_or_below(
    wall: float, declared: float | None, minutes: float | None
) -> None:
    """The chart's own time at a constant wall is a printed row, never between two."""
    assert _hold_min([0, 60], [wall, wall], declared) == minutes


def test_a_cold_hour_counts_as_nothing() -> None:
    """An hour below the chart, then 20 degC: the row's 105 min begin after the cold hour."""
    edges, wall = [0, 60, 61, 120], [5.0, 5.0, 20.0, 20.0]

    assert _hold_min(edges, wall, None) == 61 + 105


def test_a_wall_that_warms_up_may_earn_the_warmer_row_anew() -> None:
    """30 min at 12 degC, then 25 degC: 75 min from the warming beat 240 from the start."""
    edges, wall = [0, 30, 31, 200], [12.0, 12.0, 25.0, 25.0]

    assert _hold_min(edges, wall, None) == 31 + 75


def test_what_the_wall_does_after_a_row_was_earned_changes_nothing() -> None:
    """105 min at 20 degC are over; a cold wall afterwards does not undo them."""
    edges = [0, 60, 120, 180]

    assert _hold_min(edges, [20.0, 20.0, 20.0, 3.0], None) == 105


@pytest.mark.parametrize(
    ("edges", "wall", "found"),
    [
        # steady for an hour: the wall's own temperature, from the start
        ([0, 60], [22.0, 22.0], StaticTime(22.0, 0.0, 105.0)),
        # warmed from 12 degC: what came before the row began does not govern it
        ([0, 30, 31, 200], [12.0, 12.0, 25.0, 25.0], StaticTime(25.0, 31.0, 75.0)),
        # cold after the row was over: neither does what came later
        ([0, 60, 120, 180], [20.0, 21.0, 20.0, 3.0], StaticTime(20.0, 0.0, 105.0)),
        # the row's 105 min to the minute, then cold: earned all the same
        ([0, 105, 180], [20.0, 20.0, 3.0], StaticTime(20.0, 0.0, 105.0)),
        # the first warm reading came just now: only the present counts
        ([0, 15, 30, 30], [12.0, 12.0, 25.0, 25.0], StaticTime(25.0, 30.0, 75.0)),
        # below the chart now: no row, counted from now on
        ([0, 60, 120], [12.0, 9.0, 9.0], StaticTime(9.0, 120.0, None)),
    ],
)
def test_the_row_the_governing_temperature_and_from_when_are_told(
    edges: list[float], wall: list[float], found: StaticTime
) -> None:
    """The coldest while the row counted is what the chart was read at."""
    assert static_time(np.array(edges, float), np.array(wall), None, CHART) == found


logs = st.lists(st.floats(5, 30), min_size=3, max_size=12)


@given(wall=logs, warmer=st.floats(0, 5), declared=st.none() | st.floats(10, 30))
def test_a_warmer_wall_is_never_later(
    wall: list[float], warmer: float, declared: float | None
) -> None:
    """Raising every temperature never lengthens the chart's time."""
    edges = [20.0 * n for n in range(len(wall))]
    before = _hold_min(edges, wall, declared)
    after = _hold_min(edges, [each + warmer for each in wall], declared)

    if before is not None:
        assert after is not None
        assert after <= before


@given(wall=logs, declared=st.none() | st.floats(10, 30))
def test_a_row_is_earned_only_by_its_whole_time_at_or_above_it(
    wall: list[float], declared: float | None
) -> None:
    """From when it counts until it is over, neither the wall nor the word was colder."""
    edges = [20.0 * n for n in range(len(wall))]
    found = static_time(np.array(edges), np.array(wall), declared, CHART)

    if found.minutes is None:
        return
    row = next(t for t, m in ROW_AT.items() if m == found.minutes)
    over = found.from_min + found.minutes
    during = [
        min(a, b)
        for (start, end), (a, b) in zip(
            itertools.pairwise(edges), itertools.pairwise(wall), strict=True
        )
        if start >= found.from_min and end <= max(over, found.from_min)
    ]
    assert all(each >= row for each in during)
    assert declared is None or declared >= row
