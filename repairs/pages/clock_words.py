"""Instants as the people of a site read them."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

MINUS = "\N{MINUS SIGN}"
_HOUR_MIN = 60
_LONG_H = 72


def hour(at: datetime | None, zone: str, *, now: datetime) -> str:
    """Return the time of day, with the day (and the year) where it is another one: ``14:32``."""
    if at is None:
        return "not known"
    there, today = at.astimezone(ZoneInfo(zone)), now.astimezone(ZoneInfo(zone)).date()
    if there.date() == today:
        return f"{there:%H:%M}"
    return f"{there:%a %d %b %H:%M}" if there.year == today.year else f"{there:%a %d %b %Y %H:%M}"


def hours_there(
    begins: datetime, ends: datetime, zone: str, *, now: datetime, page_zone: str
) -> str:
    """Return a span on the site's clock; its zone is named where the page keeps another."""
    words = f"{hour(begins, zone, now=now)} to {hour(ends, zone, now=now)}"
    there = offset(begins, zone)
    return words if there == offset(begins, page_zone) else f"{words} ({there})"


def not_before(at: datetime | None, zone: str, *, now: datetime) -> str:
    """Return the first full minute that is not too early: a release is never rounded down."""
    if at is None:
        return "not known"
    cut = at.replace(second=0, microsecond=0)
    return hour(cut if cut == at else cut + timedelta(minutes=1), zone, now=now)


def moment(at: datetime | None, zone: str) -> str:
    """Return an instant in full: ``Wed 25 Nov 2026, 14:32 (UTC+1)``."""
    if at is None:
        return "not known"
    return f"{at.astimezone(ZoneInfo(zone)):%a %d %b %Y, %H:%M} ({offset(at, zone)})"


def offset(at: datetime, zone: str) -> str:
    """Return the zone's distance from UTC at an instant: ``UTC+1``, ``UTC-3:30``."""
    apart = at.astimezone(ZoneInfo(zone)).utcoffset() or timedelta(0)
    minutes = round(abs(apart.total_seconds()) / 60)
    hours, rest = divmod(minutes, _HOUR_MIN)
    if not minutes:
        return "UTC"
    sign = "+" if apart > timedelta(0) else MINUS
    return f"UTC{sign}{hours}:{rest:02d}" if rest else f"UTC{sign}{hours}"


def span(minutes: float) -> str:
    """Return a duration: ``12 min``, ``2 h 14 min``, ``9 days``."""
    hours, rest = divmod(int(abs(minutes)), _HOUR_MIN)
    if hours >= _LONG_H:
        return f"{hours // 24} days"
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"
