"""A day along a line: which hours are drawn, and where an instant lies."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.pages.hours import SHORTEST_H, Axis, axis_for, day_of, usual_zone

ZONES = st.sampled_from(["CET", "EST5EDT", "Etc/GMT-12", "Etc/GMT+9"])
MOMENTS = st.datetimes(
    min_value=datetime(2026, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    max_value=datetime(2027, 12, 31),  # noqa: DTZ001 - likewise
    timezones=st.just(UTC),
)


@pytest.mark.parametrize(
    ("now", "hours"),
    [
        (datetime(2026, 11, 25, 12, tzinfo=UTC), 24),  # a usual day
        (datetime(2026, 3, 29, 12, tzinfo=UTC), 23),  # the clocks go forward
        (datetime(2026, 10, 25, 12, tzinfo=UTC), 25),  # the clocks go back
    ],
)
def test_a_day_is_as_long_as_the_zone_says(now: datetime, hours: int) -> None:
    """Today runs from midnight to midnight there, summer time included."""
    first, last = day_of(now, "CET")

    assert last.astimezone(UTC) - first.astimezone(UTC) == timedelta(hours=hours)


@given(now=MOMENTS, zone=ZONES, starts_h=st.floats(-30, 30), lasts_h=st.floats(0.1, 20))
def test_the_line_holds_the_present_and_stays_inside_today(
    now: datetime, zone: str, starts_h: float, lasts_h: float
) -> None:
    """Whatever is planned, the drawn hours lie in today and the present lies in them."""
    start = now + timedelta(hours=starts_h)
    first, last = day_of(now, zone)

    axis = axis_for([(start, start + timedelta(hours=lasts_h))], now=now, zone=zone)

    assert first <= axis.start <= now <= axis.end <= last
    assert axis.start < axis.end


@given(now=MOMENTS, zone=ZONES, apart_s=st.integers(-90_000, 90_000))
def test_a_later_instant_never_lies_further_left(now: datetime, zone: str, apart_s: int) -> None:
    """The place on the line follows time, and never leaves the line."""
    axis = axis_for([], now=now, zone=zone)
    other = now + timedelta(seconds=apart_s)

    here, there = axis.percent(now), axis.percent(other)

    assert 0.0 <= there <= 100.0
    assert (there - here) * apart_s >= 0


def test_an_empty_day_is_drawn_as_a_working_day() -> None:
    """With nothing planned the line still has hours to look at."""
    axis = axis_for([], now=datetime(2026, 11, 25, 7, 30, tzinfo=UTC), zone="UTC")

    assert axis.ticks()[0] == (0.0, "07:00")
    assert axis.end - axis.start == timedelta(hours=SHORTEST_H)


def test_a_long_day_has_a_mark_every_second_hour() -> None:
    """Marks do not crowd each other."""
    noon = datetime(2026, 11, 25, 6, tzinfo=UTC)
    axis = Axis(noon, noon + timedelta(hours=12), "UTC")

    assert [words for _, words in axis.ticks()] == [
        "06:00", "08:00", "10:00", "12:00", "14:00", "16:00", "18:00"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("zones", "usual"),
    [
        (["CET", "UTC", "CET"], "CET"),  # most crews
        (["UTC", "CET"], "CET"),  # a tie goes by the alphabet
        ([], "UTC"),  # no crew yet
    ],
)
def test_the_board_is_told_in_the_zone_of_most_crews(zones: list[str], usual: str) -> None:
    """One line, one zone."""
    assert usual_zone(zones) == usual
