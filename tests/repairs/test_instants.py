"""Times are turned to UTC before anything is reckoned with them."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.instants import utc

ZONE = ZoneInfo("EST5EDT")


def test_the_night_the_clocks_go_back_has_an_hour_more() -> None:
    """From 00:30 to 03:30 are 240 minutes, where naive subtraction finds 180.

    Source: A5-dst-fall of core_reference.csv (timestamps, computed).
    """
    before = datetime(2026, 11, 1, 0, 30, tzinfo=ZONE)
    after = datetime(2026, 11, 1, 3, 30, tzinfo=ZONE)

    assert after - before == timedelta(minutes=180)
    assert utc(after) - utc(before) == timedelta(minutes=240)


def test_the_night_the_clocks_go_forward_has_an_hour_less() -> None:
    """From 01:30 to 03:30 are 60 minutes: reckoned as 120 a cure would be let go early.

    Source: A5-dst-spring of core_reference.csv (timestamps, computed).
    """
    before = datetime(2026, 3, 8, 1, 30, tzinfo=ZONE)
    after = datetime(2026, 3, 8, 3, 30, tzinfo=ZONE)

    assert utc(after) - utc(before) == timedelta(minutes=60)


@pytest.mark.parametrize(
    ("at", "message"),
    [
        (datetime(2026, 11, 25, 12, 0), "without offset"),  # noqa: DTZ001 - the fault itself
        (datetime(2026, 3, 8, 2, 30, tzinfo=ZONE), "was skipped"),  # no clock showed it
        (datetime(2026, 11, 1, 1, 30, tzinfo=ZONE), "happened twice"),  # which of the two?
        (datetime(2026, 11, 1, 1, 30, tzinfo=ZONE, fold=1), "happened twice"),  # not said aloud
    ],
)
def test_a_time_that_is_not_one_instant_is_refused(at: datetime, message: str) -> None:
    """The message names the time and says what to give instead."""
    with pytest.raises(ValueError, match=message):
        utc(at)


def test_an_hour_that_happened_twice_is_taken_with_its_offset() -> None:
    """With an offset the doubtful hour is one instant."""
    at = datetime(2026, 11, 1, 1, 30, tzinfo=timezone(timedelta(hours=-5)))

    assert utc(at) == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)


@given(
    at=st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1)),  # noqa: DTZ001 - zone is added
    offset_min=st.integers(-14 * 60, 14 * 60),
)
def test_an_offset_never_changes_the_instant(at: datetime, offset_min: int) -> None:
    """Turning to UTC keeps the instant and yields UTC."""
    given_at = at.replace(tzinfo=timezone(timedelta(minutes=offset_min)))

    assert utc(given_at) == given_at
    assert utc(given_at).tzinfo is UTC
