"""Months by the calendar of the place: which one a moment lies in, and whether one is over."""

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

MONTH = r"^(?!0000)[0-9]{4}-(0[1-9]|1[0-2])$"
"""A month as it is asked for: 2031-03."""

_LAST_PLACE = timezone(timedelta(hours=-12))
"""No place on Earth begins its days later."""
_FIRST_PLACE = timezone(timedelta(hours=14))
"""No place on Earth begins its days sooner."""
_SLACK = timedelta(days=1)
"""No place's calendar is further from UTC than this."""
_LONGEST = timedelta(days=31)


def month_read(text: str) -> date:
    """Return the first day of a month that is written as `MONTH` says."""
    year, month = map(int, text.split("-"))
    return date(year, month, 1)


def month_at(moment: datetime, time_zone: str) -> date:
    """Return the first day of the month in which a moment lies, by the place's calendar."""
    return moment.astimezone(ZoneInfo(time_zone)).date().replace(day=1)


def month_over(month: date, *, now: datetime) -> bool:
    """Return whether the month is over wherever a pipe may lie."""
    return now.astimezone(_LAST_PLACE).date().replace(day=1) > month


def month_begun(month: date, *, now: datetime) -> bool:
    """Return whether the month has begun somewhere a pipe may lie."""
    return now.astimezone(_FIRST_PLACE).date() >= month


def reach_of(month: date) -> tuple[datetime, datetime]:
    """Return two moments between which the month lies, by any place's calendar."""
    first = datetime(month.year, month.month, 1, tzinfo=UTC)
    earliest = datetime.min.replace(tzinfo=UTC) + _SLACK
    latest = datetime.max.replace(tzinfo=UTC) - _LONGEST - _SLACK
    return max(first, earliest) - _SLACK, min(first, latest) + _LONGEST + _SLACK
