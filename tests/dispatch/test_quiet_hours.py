"""Quiet hours on the clock of the place, also in the two nights when that clock jumps."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.quiet_hours import QuietHours, awake_at

ZONES = ("CET", "EST5EDT", "Etc/GMT-13", "UTC")
"""Two whose clocks jump, one far east, and UTC."""

NIGHT = QuietHours(time(20, 0), time(7, 0))
minutes = st.integers(0, 24 * 60 - 1).map(lambda n: time(n // 60, n % 60))
FIRST = datetime(2023, 1, 1, tzinfo=UTC)
instants = st.integers(0, 10 * 366 * 24 * 60).map(lambda n: FIRST + timedelta(minutes=n))
"""Ten years of jumps, with three leap days."""


@given(at=instants, start=minutes, end=minutes, zone=st.sampled_from(ZONES))
def test_nobody_is_told_in_quiet_hours_nor_before_time(
    at: datetime, start: time, end: time, zone: str
) -> None:
    """Whatever the hours: not earlier, not quiet, and at most a day and an hour later."""
    quiet = QuietHours(start, end)

    found = awake_at(at, quiet, ZoneInfo(zone))

    assert found >= at
    assert not quiet.holds_at(found, ZoneInfo(zone))
    assert found - at <= timedelta(hours=25)


@given(at=instants, zone=st.sampled_from(ZONES))
def test_by_day_nothing_waits(at: datetime, zone: str) -> None:
    """Outside quiet hours the instant itself is the answer; without quiet hours always."""
    if not NIGHT.holds_at(at, ZoneInfo(zone)):
        assert awake_at(at, NIGHT, ZoneInfo(zone)) == at
    assert awake_at(at, None, ZoneInfo(zone)) == at
    assert awake_at(at, QuietHours(time(3), time(3)), ZoneInfo(zone)) == at


def in_cet(day: int, month: int, hour: int, minute: int = 0, fold: int = 0) -> datetime:
    """Return an instant of 2026 by the clock of CET."""
    there = datetime(2026, month, day, hour, minute, tzinfo=ZoneInfo("CET"), fold=fold)
    return there.astimezone(UTC)


@pytest.mark.parametrize(
    ("at", "quiet", "expected"),
    [
        # An ordinary evening and an ordinary morning.
        (in_cet(24, 11, 22), NIGHT, in_cet(25, 11, 7)),
        (in_cet(25, 11, 3), NIGHT, in_cet(25, 11, 7)),
        # The night of 28 to 29 March 2026 is an hour shorter, that of 24 to 25 October longer:
        # 07:00 on the clock all the same (summer time in the EU: last Sundays, 01:00 UTC).
        (in_cet(28, 3, 22), NIGHT, datetime(2026, 3, 29, 5, 0, tzinfo=UTC)),
        (in_cet(24, 10, 22), NIGHT, datetime(2026, 10, 25, 6, 0, tzinfo=UTC)),
        # 02:30 does not exist on 29 March: as many hours as on any other night.
        (
            in_cet(29, 3, 1),
            QuietHours(time(23, 0), time(2, 30)),
            datetime(2026, 3, 29, 1, 30, tzinfo=UTC),
        ),
        # 02:30 comes twice on 25 October: the first one ends it, and the second again.
        (
            in_cet(25, 10, 1),
            QuietHours(time(23, 0), time(2, 30)),
            in_cet(25, 10, 2, 30, fold=0),
        ),
        (
            in_cet(25, 10, 2, 10, fold=1),
            QuietHours(time(23, 0), time(2, 30)),
            in_cet(25, 10, 2, 30, fold=1),
        ),
    ],
)
def test_the_end_of_the_night_is_read_off_the_clock_there(
    at: datetime, quiet: QuietHours, expected: datetime
) -> None:
    """Ordinary nights, the short one, the long one, and an end inside the jump."""
    assert awake_at(at, quiet, ZoneInfo("CET")) == expected
