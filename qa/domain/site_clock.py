"""An instant on the clock of a site, in a letter that may be read anywhere."""

from datetime import datetime
from zoneinfo import ZoneInfo


def on_site_clock(at: datetime, zone: str) -> str:
    """Return an aware instant to the minute, with the distance from UTC.

    >>> from datetime import UTC
    >>> on_site_clock(datetime(2026, 11, 25, 13, 32, tzinfo=UTC), "CET")
    '2026-11-25 14:32 (UTC+01:00)'
    """
    there = at.astimezone(ZoneInfo(zone))
    return f"{there:%Y-%m-%d %H:%M} (UTC{there.isoformat(timespec='minutes')[-6:]})"
