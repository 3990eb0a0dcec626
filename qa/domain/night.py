"""When the nightly check of sealed files begins."""

from datetime import UTC, datetime, time, timedelta


def last_night(now: datetime, hour_utc: int) -> datetime:
    """Return the newest instant not after `now` at which the clock in UTC struck `hour_utc`."""
    struck = datetime.combine(now.astimezone(UTC).date(), time(hour_utc), UTC)
    return struck if struck <= now else struck - timedelta(days=1)


def next_night(now: datetime, hour_utc: int) -> datetime:
    """Return the next one after `now`."""
    return last_night(now, hour_utc) + timedelta(days=1)
