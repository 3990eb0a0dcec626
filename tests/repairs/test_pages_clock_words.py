"""Instants in words: a release is never rounded down, a zone is always named."""

from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.pages.clock_words import MINUS, hour, moment, not_before, offset, span

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
MOMENTS = st.datetimes(
    min_value=datetime(2026, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    max_value=datetime(2027, 12, 31),  # noqa: DTZ001 - likewise
    timezones=st.just(UTC),
)


@given(at=MOMENTS)
def test_a_release_is_never_told_too_early(at: datetime) -> None:
    """The minute that is shown begins at or after the instant, less than a minute later."""
    shown = not_before(at, "UTC", now=at)

    told = time.fromisoformat(shown[-5:])
    late = datetime.combine(at.date(), told, UTC) - at
    late = late if late >= timedelta(0) else late + timedelta(days=1)
    assert timedelta(0) <= late < timedelta(minutes=1)


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (NOON, "13:00"),  # today, in the site's zone
        (NOON + timedelta(hours=11), "Thu 26 Nov 00:00"),  # past midnight there
        (NOON - timedelta(days=1), "Tue 24 Nov 13:00"),  # yesterday
        (None, "not known"),
    ],
)
def test_the_day_is_told_where_it_is_another_one(at: datetime | None, words: str) -> None:
    """An hour alone means today."""
    assert hour(at, "CET", now=NOON) == words


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        ("UTC", "UTC"),
        ("CET", "UTC+1"),
        # Zones of half and quarter hours have no other name than the standard's.
        ("Asia/Kathmandu", "UTC+5:45"),
        ("America/St_Johns", f"UTC{MINUS}3:30"),
        ("Etc/GMT-9", "UTC+9"),  # POSIX counts the other way round
    ],
)
def test_a_zone_is_told_by_its_distance(zone: str, words: str) -> None:
    """West is minus, half hours are told."""
    assert offset(NOON, zone) == words


def test_a_moment_in_full_names_day_and_zone() -> None:
    """Ten years later it is still clear when that was."""
    assert moment(NOON, "CET") == "Wed 25 Nov 2026, 13:00 (UTC+1)"


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0.9, "0 min"),  # cut, not rounded: less time is the safe side
        (59.99, "59 min"),
        (60, "1 h 00 min"),
        (134, "2 h 14 min"),
    ],
)
def test_a_duration_is_cut_to_the_minute(minutes: float, words: str) -> None:
    """Minutes left are never told more than they are."""
    assert span(minutes) == words
