"""Times of a plan in words are those of a wall clock, the days of changing clocks included."""

from datetime import date, time, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.refusal import clock
from dispatch.domain.plan_horizon import horizon_of, instant_of
from dispatch.domain.plan_words import with_dates

ZONES = ("CET", "EST5EDT", "UTC")


@given(
    st.dates(date(2024, 1, 1), date(2035, 12, 31)),
    st.integers(0, 13),
    st.integers(4, 23),
    st.integers(0, 59),
    st.sampled_from(ZONES),
)
def test_what_the_wall_clock_shows_is_what_is_said(
    starts_on: date, day: int, hour: int, minute: int, zone: str
) -> None:
    """From four in the morning on, when no clock here is changed any more."""
    horizon = horizon_of(starts_on, 14, [zone])
    on = starts_on + timedelta(days=day)
    seconds = horizon.seconds(instant_of(on, time(hour, minute), zone))

    told = with_dates(f"back {clock(seconds)}, 5 min after it", horizon.origin, zone)

    assert told == f"back {on:%a %d %b} {hour:02d}:{minute:02d}, 5 min after it"


@given(st.dates(date(2024, 1, 1), date(2035, 12, 31)), st.integers(-9, 30), st.sampled_from(ZONES))
def test_a_day_without_a_time_is_its_date(starts_on: date, day: int, zone: str) -> None:
    """Days before the first count back."""
    origin = horizon_of(starts_on, 14, [zone]).origin

    told = with_dates(f"is pinned to day {day}", origin, zone)

    assert told == f"is pinned to {starts_on + timedelta(days=day):%a %d %b}"


@given(st.text(alphabet="dayx:0123456789", max_size=30))
def test_other_words_stay(words: str) -> None:
    """Without a blank after 'day' it is no day."""
    assert with_dates(words, horizon_of(date(2026, 11, 30), 1, ["UTC"]).origin, "UTC") == words
