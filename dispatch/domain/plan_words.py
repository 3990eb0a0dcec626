"""Says the times of a plan as people do: by weekday, date and the clock on the wall."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

_TIME = re.compile(r"\bday (-?\d{1,5}) (\d\d):(\d\d)")
_DAY = re.compile(r"\bday (-?\d{1,5})\b")


def with_dates(words: str, origin: datetime, zone: str) -> str:
    """Return words in which 'day 2 07:15', counted from the origin, is 'Wed 02 Dec 07:15'.

    A day without a time becomes its date.

    Parameters
    ----------
    origin : datetime
        Second 0 of the plan. The words count hours that pass, so on a day on which the
        clocks change they are an hour off; what is returned is not.
    """
    there = ZoneInfo(zone)

    def said(found: re.Match[str]) -> str:
        days, hours, minutes = (int(part) for part in found.groups())
        at = (origin + timedelta(days=days, hours=hours, minutes=minutes)).astimezone(there)
        return f"{at:%a %d %b} {at:%H:%M}"

    def dated(found: re.Match[str]) -> str:
        return f"{origin.astimezone(there).date() + timedelta(days=int(found[1])):%a %d %b}"

    return _DAY.sub(dated, _TIME.sub(said, words))
