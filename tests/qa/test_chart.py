"""What a chart of the report may never lose."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.graphics.shapes import Circle, PolyLine

from qa.closeout.report.chart import MOST_TICKS, Event, TimeChart, nice, ticks, unbroken
from qa.domain.closeout import Series

START = datetime(2031, 3, 11, 14, 0, tzinfo=UTC)
HERE = ZoneInfo("CST6CDT")


def chart(hours: float, low: float = 0.0, high: float = 60.0) -> TimeChart:
    """Frame some hours."""
    end = START + timedelta(hours=hours)
    return TimeChart(480, 218, start=START, end=end, low=low, high=high)


def every(seconds: int, values: list[float]) -> Series:
    """Space readings evenly."""
    return tuple((START + timedelta(seconds=seconds * n), value) for n, value in enumerate(values))


def drawn_heights(framed: TimeChart) -> list[float]:
    """List the heights of the drawn line."""
    return [
        y for one in framed.drawing.contents if isinstance(one, PolyLine) for y in one.points[1::2]
    ]


@given(st.integers(0, 9 * 3600 - 1), st.floats(0, 60))
def test_one_low_reading_in_nine_hours_is_drawn(at: int, value: float) -> None:
    """Of 32,400 readings a second apart, a single dip still reaches its depth on paper."""
    values = [34.0] * (9 * 360)
    values[at // 10] = value
    framed = chart(9)

    framed.line(every(10, values))

    heights = drawn_heights(framed)
    assert min(abs(y - framed.y(value)) for y in heights) < 0.01
    assert len(heights) < 2 * 2 * 480


def test_a_silence_of_the_logger_stays_a_gap() -> None:
    """No line is drawn where nothing was read."""
    readings = every(10, [34.0] * 100)

    pieces = unbroken(readings[:40] + readings[60:])

    assert [len(piece) for piece in pieces] == [40, 40]


def test_an_unsteady_logger_is_no_gap() -> None:
    """Readings 10 to 30 s apart are one line: not each pause is a silence."""
    steps = [10, 10, 30, 10, 20, 10, 10]
    times = [START + timedelta(seconds=sum(steps[:n])) for n in range(len(steps) + 1)]

    assert len(unbroken([(at, 1.0) for at in times])) == 1


@given(st.lists(st.tuples(st.integers(0, 40_000), st.floats(0, 60)), max_size=60))
def test_no_reading_is_lost_when_parted(readings: list[tuple[int, float]]) -> None:
    """Whatever the times, the pieces together are all the readings, in order."""
    series = [(START + timedelta(seconds=second), value) for second, value in readings]

    assert [one for piece in unbroken(series) for one in piece] == sorted(series)


@pytest.mark.parametrize("hours", [0.05, 0.1, 0.5, 2, 5, 9, 26, 70])
def test_the_time_axis_has_a_few_round_times(hours: float) -> None:
    """Two hours or nine, at most ten labels, each a whole minute inside the chart."""
    end = START + timedelta(hours=hours)

    found = ticks(START, end, HERE)

    assert 1 <= len(found) <= MOST_TICKS + 1
    assert all(START <= at <= end and at.second == 0 for at in found)


def test_the_time_axis_survives_the_change_of_clocks() -> None:
    """In the night the clocks go back the marks keep their distance; one hour shows twice."""
    start = datetime(2031, 11, 2, 4, 0, tzinfo=UTC)

    found = ticks(start, start + timedelta(hours=6), HERE)

    assert {b - a for a, b in pairwise(found)} == {timedelta(hours=1)}
    labels = [at.astimezone(HERE).strftime("%H:%M") for at in found]
    assert labels == ["23:00", "00:00", "01:00", "01:00", "02:00", "03:00", "04:00"]


@given(st.floats(-40, 400), st.floats(0.01, 500), st.integers(2, 10))
def test_value_labels_lie_inside_and_rise(low: float, size: float, wanted: int) -> None:
    """Labels never leave the frame and are never more than asked for and one."""
    found = nice(low, low + size, wanted)

    assert found == sorted(set(found))
    assert len(found) <= wanted + 1
    assert all(low - 1e-5 <= value <= low + size + 1e-5 for value in found)


@given(st.lists(st.integers(0, 120), min_size=1, max_size=7))
def test_event_letters_never_cover_each_other(minutes: list[int]) -> None:
    """Events of the same minute stand above each other."""
    framed = chart(2)

    framed.events([Event("A", "x", START + timedelta(minutes=one)) for one in minutes])

    marks = [one for one in framed.drawing.contents if isinstance(one, Circle)]
    for n, first in enumerate(marks):
        for second in marks[n + 1 :]:
            assert ((first.cx - second.cx) ** 2 + (first.cy - second.cy) ** 2) ** 0.5 >= 10
