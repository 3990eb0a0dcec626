"""The days of a plan: dates and instants as whole seconds from its origin, and back.

Seconds are those that pass, so a day on which the clocks change has 23 or 25 hours of
them. What a crew or a street calls seven in the morning is turned into an instant first,
on its own clock.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Horizon:
    """Some days in a row.

    Parameters
    ----------
    origin : datetime
        When the first day begins for whoever it begins for first: nobody's hours lie
        before it.
    zone : str
        The one that is so in, for words about times.
    """

    starts_on: date
    days: int
    origin: datetime
    zone: str = "UTC"

    @property
    def ends_s(self) -> int:
        """Return an instant by which every day is over, a shift into the next morning too."""
        return (self.days + 2) * 86_400

    def seconds(self, at: datetime) -> int:
        """Return an instant as seconds from the origin."""
        return (at - self.origin) // _SECOND

    def at(self, seconds: int) -> datetime:
        """Return the instant of so many seconds from the origin, in UTC."""
        return self.origin + seconds * _SECOND

    def day(self, on: date) -> int:
        """Return which day a date is, 0 the first; below 0 and beyond the last are possible."""
        return (on - self.starts_on).days

    def date_of(self, day: int) -> date:
        """Return the date of a day."""
        return self.starts_on + timedelta(days=day)

    def has(self, on: date) -> bool:
        """Return whether a date is one of the days."""
        return 0 <= self.day(on) < self.days


def horizon_of(starts_on: date, days: int, zones: Iterable[str]) -> Horizon:
    """Return the horizon whose first day begins at the earliest midnight of some zones."""
    midnights = [(instant_of(starts_on, time(), zone), zone) for zone in zones]
    usual = (instant_of(starts_on, time(), "UTC"), "UTC")
    return Horizon(starts_on, days, *min(midnights, default=usual))


def instant_of(on: date, at: time, zone: str) -> datetime:
    """Return in UTC what a clock on the wall of a zone calls this time on this date.

    A time that a spring clock leaves out counts as if it had not been put forward; one that
    an autumn clock shows twice is the first.
    """
    return datetime.combine(on, at, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def day_there(at: datetime, zone: str) -> date:
    """Return which date it is in a zone at an instant."""
    return at.astimezone(ZoneInfo(zone)).date()
