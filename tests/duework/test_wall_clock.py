"""Times told on a wall clock: nights of 23 and 25 hours, leap days, in two zones.

The dates of the changes are those of the zone database that Python reads.
"""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from duework.claim import claim
from duework.domain.work import Again
from duework.models import WorkItem
from tests.duework.due_moments import NOW

Due = Callable[..., WorkItem]
EAST, WEST = ZoneInfo("CET"), ZoneInfo("EST5EDT")
AN_INSTANT = timedelta(microseconds=1)


def due_from(due: Due, told: datetime) -> datetime:
    """Write a row due at a told time, and return the first instant at which it is claimed."""
    due(after_s=(told.astimezone(UTC) - NOW).total_seconds())
    row = WorkItem.objects.get()
    assert claim(limit=1, now=row.due_at - AN_INSTANT, lease_s=60).taken == 0
    assert claim(limit=1, now=row.due_at, lease_s=60).taken == 1
    return row.due_at


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("told", "utc"),
    [
        # The clock strikes 02:30 twice in that night: each is an instant of its own.
        (datetime(2031, 10, 26, 2, 30, tzinfo=EAST), datetime(2031, 10, 26, 0, 30, tzinfo=UTC)),
        (
            datetime(2031, 10, 26, 2, 30, fold=1, tzinfo=EAST),
            datetime(2031, 10, 26, 1, 30, tzinfo=UTC),
        ),
        (
            datetime(2031, 11, 2, 1, 30, fold=1, tzinfo=WEST),
            datetime(2031, 11, 2, 6, 30, tzinfo=UTC),
        ),
        # The clock jumps over 02:30: meant is as long after midnight as on any other night.
        (datetime(2031, 3, 30, 2, 30, tzinfo=EAST), datetime(2031, 3, 30, 1, 30, tzinfo=UTC)),
        (datetime(2031, 3, 9, 2, 30, tzinfo=WEST), datetime(2031, 3, 9, 7, 30, tzinfo=UTC)),
        # A day more in February.
        (datetime(2032, 2, 29, 23, 59, tzinfo=WEST), datetime(2032, 3, 1, 4, 59, tzinfo=UTC)),
        (datetime(2031, 12, 31, 23, 59, tzinfo=EAST), datetime(2031, 12, 31, 22, 59, tzinfo=UTC)),
    ],
)
def test_a_told_time_is_one_instant(due: Due, told: datetime, utc: datetime) -> None:
    """It is due at that instant, not a microsecond before."""
    assert due_from(due, told) == utc


@pytest.mark.django_db
@pytest.mark.parametrize("zone", [EAST, WEST], ids=str)
@pytest.mark.parametrize("night", [date(2031, 3, 8), date(2031, 10, 25), date(2031, 11, 1)])
def test_six_hours_are_six_hours_in_every_night(due: Due, zone: ZoneInfo, night: date) -> None:
    """A cure that takes six hours takes them, whatever the clocks do meanwhile."""
    began = datetime(night.year, night.month, night.day, 23, tzinfo=zone).astimezone(UTC)

    assert due_from(due, began + timedelta(hours=6)) - began == timedelta(hours=6)


@given(st.datetimes(datetime(2023, 1, 1), datetime(2033, 12, 31)), st.sampled_from([EAST, WEST]))  # noqa: DTZ001 - the zone is added
def test_a_push_keeps_its_instant_in_every_hour_of_eleven_years(
    naive: datetime, zone: ZoneInfo
) -> None:
    """Changes of clocks, leap days, ends of years: the instant stays, and has a UTC of its own."""
    told = naive.replace(tzinfo=zone)

    kept = Again(told).due_at.astimezone(UTC)

    assert kept.utcoffset() == timedelta(0)
    assert kept == told.astimezone(UTC)
