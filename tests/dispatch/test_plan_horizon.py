"""Days of a plan in seconds: over midnight, over zones, and on the days the clocks change."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan_horizon import day_there, horizon_of, instant_of

ZONES = ("CET", "EST5EDT", "Etc/GMT-14", "Etc/GMT+12", "UTC")
dates = st.dates(date(2024, 1, 1), date(2035, 12, 31))
zones = st.sampled_from(ZONES)


@given(dates, st.lists(zones, min_size=1, max_size=4), st.integers(1, 14))
def test_nobodys_first_hour_lies_before_the_origin(
    starts_on: date, where: list[str], days: int
) -> None:
    """Midnight of the first day is second 0 or later for everybody; the last day is inside."""
    horizon = horizon_of(starts_on, days, where)

    firsts = [horizon.seconds(instant_of(starts_on, time(), zone)) for zone in where]
    last = starts_on + timedelta(days=days)
    assert min(firsts) == 0
    assert all(horizon.seconds(instant_of(last, time(), zone)) < horizon.ends_s for zone in where)


@given(dates, zones, st.integers(-(10**6), 10**7))
def test_seconds_and_instants_are_one_anothers_way_back(
    starts_on: date, zone: str, seconds: int
) -> None:
    """Whole seconds lose nothing."""
    horizon = horizon_of(starts_on, 3, [zone])

    assert horizon.seconds(horizon.at(seconds)) == seconds


@given(dates, st.integers(-40, 40))
def test_dates_and_days_are_one_anothers_way_back(starts_on: date, day: int) -> None:
    """Day 0 is the first."""
    horizon = horizon_of(starts_on, 5, ["UTC"])

    assert horizon.day(horizon.date_of(day)) == day
    assert horizon.has(horizon.date_of(day)) == (0 <= day < 5)


@given(dates, st.times(), zones)
def test_an_instant_is_what_the_wall_clock_says(on: date, at: time, zone: str) -> None:
    """Where the spring clock leaves the time out, it shows a later one of the same day."""
    found = instant_of(on, at.replace(microsecond=0), zone).astimezone(ZoneInfo(zone))

    left_out = found.replace(tzinfo=None) != datetime.combine(on, at.replace(microsecond=0))
    assert day_there(found, zone) == on
    assert not left_out or found.time() > at


@pytest.mark.parametrize(
    ("on", "hours"),
    [(date(2027, 3, 28), 23), (date(2026, 10, 25), 25), (date(2026, 11, 30), 24)],
)
def test_a_day_has_as_many_hours_as_it_has(on: date, hours: int) -> None:
    """Central European clocks change on the last Sundays of March and October (EU 2000/84)."""
    length = instant_of(on + timedelta(days=1), time(), "CET") - instant_of(on, time(), "CET")

    assert length == timedelta(hours=hours)


def test_seven_in_the_morning_is_seven_in_the_morning() -> None:
    """On the Monday after the change an hour earlier in UTC than on the Friday before."""
    friday, monday = (
        instant_of(on, time(7), "CET") for on in (date(2027, 3, 26), date(2027, 3, 29))
    )

    assert (friday, monday) == (
        datetime(2027, 3, 26, 6, tzinfo=UTC),
        datetime(2027, 3, 29, 5, tzinfo=UTC),
    )
