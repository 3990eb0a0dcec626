"""A day laid out along a line: from which hour to which, and where on it an instant lies."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

SHORTEST_H = 8
"""A day with one short repair is still drawn as a working day."""


@dataclass(frozen=True, slots=True)
class Axis:
    """The drawn part of a day, `start` to `end`, in one zone."""

    start: datetime
    end: datetime
    zone: str

    def percent(self, at: datetime) -> float:
        """Return where an instant lies, 0 to 100; what lies outside is drawn at the edge."""
        share = (at - self.start) / (self.end - self.start)
        return round(100 * min(1.0, max(0.0, share)), 2)

    def ticks(self) -> tuple[tuple[float, str], ...]:
        """Return full hours with their words; every second one on a long day."""
        whole = int((self.end - self.start) / timedelta(hours=1))
        step = 1 if whole <= SHORTEST_H else 2
        found = []
        for hours in range(0, whole + 1, step):
            at = self.start + timedelta(hours=hours)
            found.append((self.percent(at), f"{at.astimezone(ZoneInfo(self.zone)):%H:%M}"))
        return tuple(found)


def day_of(now: datetime, zone: str) -> tuple[datetime, datetime]:
    """Return the first and the last instant of today in a zone, summer time included."""
    today: date = now.astimezone(ZoneInfo(zone)).date()
    start = datetime.combine(today, time(), ZoneInfo(zone))
    return start, datetime.combine(today + timedelta(days=1), time(), ZoneInfo(zone))


def usual_zone(zones: Iterable[str]) -> str:
    """Return the zone most crews work in; UTC where there is no crew."""
    counted = Counter(sorted(zones))
    return counted.most_common(1)[0][0] if counted else "UTC"


def axis_for(spans: Iterable[tuple[datetime, datetime]], *, now: datetime, zone: str) -> Axis:
    """Return the hours that hold every span and the present, inside today."""
    first, last = day_of(now, zone)
    known = list(spans)
    start = max(first, min([now, *(begin for begin, _ in known)]))
    end = min(last, max([now, *(end for _, end in known)]))
    start, end = _full_hour(start, zone, up=False), _full_hour(end, zone, up=True)
    short = timedelta(hours=SHORTEST_H) - (end - start)
    if short > timedelta(0):
        end = min(last, end + short)
    return Axis(start, end, zone)


def axis_of(spans: Iterable[tuple[datetime, datetime]], zone: str) -> Axis:
    """Return the full hours that hold every span, at least a working day; there must be one."""
    known = list(spans)
    start = _full_hour(min(begin for begin, _ in known), zone, up=False)
    end = _full_hour(max(end for _, end in known), zone, up=True)
    return Axis(start, max(end, start + timedelta(hours=SHORTEST_H)), zone)


def _full_hour(at: datetime, zone: str, *, up: bool) -> datetime:
    there = at.astimezone(ZoneInfo(zone))
    past = timedelta(minutes=there.minute, seconds=there.second, microseconds=there.microsecond)
    cut = at - past
    return cut + timedelta(hours=1) if up and past else cut
