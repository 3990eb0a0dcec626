"""An instant on the clock of a site, in a letter that may be read anywhere."""

import re
from datetime import datetime
from zoneinfo import ZoneInfo


def on_site_clock(at: datetime, zone: str) -> str:
    """Return an aware instant to the minute, with the distance from UTC.

    >>> from datetime import UTC
    >>> on_site_clock(datetime(2026, 11, 25, 13, 32, tzinfo=UTC), "CET")
    '2026-11-25 14:32 (UTC+01:00)'
    """
    return _said(at, zone, "%Y-%m-%d %H:%M")


def with_site_clock(words: str, zone: str) -> str:
    """Return a text that was put down for programs with its instants on the clock of a site.

    The rules and calculations know no site: they write an instant as in RFC 3339. The record
    keeps that; what people read says it as their clock did. Seconds stay where they were given:
    a hold that ends at 15:52:27 is not over at 15:52.

    >>> with_site_clock("hold until 2026-11-27T15:52:27+00:00", "Etc/GMT+1")
    'hold until 2026-11-27 14:52:27 (UTC-01:00)'
    """
    return _INSTANT.sub(lambda found: _read(found, zone), words)


_INSTANT = re.compile(
    r"\b\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(?P<seconds>:\d{2}(\.\d+)?)?(Z|[+-]\d{2}:\d{2})(?!\d)"
)


def _read(found: re.Match[str], zone: str) -> str:
    try:
        at = datetime.fromisoformat(found[0])
        return _said(at, zone, "%Y-%m-%d %H:%M:%S" if found["seconds"] else "%Y-%m-%d %H:%M")
    except (ValueError, OverflowError):  # no instant after all, such as a thirteenth month
        return found[0]


def _said(at: datetime, zone: str, pattern: str) -> str:
    there = at.astimezone(ZoneInfo(zone))
    return f"{there.strftime(pattern)} (UTC{there.isoformat(timespec='minutes')[-6:]})"
