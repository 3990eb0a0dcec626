"""Hours of the night in which nobody is woken, on the clock of the place."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class QuietHours:
    """From `start` until `end` on the wall clock, over midnight where `end` is earlier.

    Equal times mean no quiet hours at all.
    """

    start: time
    end: time

    def holds_at(self, at: datetime, zone: ZoneInfo) -> bool:
        """Return whether an instant lies in the quiet hours of a place."""
        there = at.astimezone(zone).time()
        if self.start <= self.end:
            return self.start <= there < self.end
        return there >= self.start or there < self.end


def awake_at(at: datetime, quiet: QuietHours | None, zone: ZoneInfo) -> datetime:
    """Return the instant itself, or the end of the quiet hours it lies in.

    Where the clock jumps over the end in spring, they last as many hours as on
    any other night; where it strikes the end twice in autumn, they end each time.
    """
    if quiet is None or not quiet.holds_at(at, zone):
        return at
    day = at.astimezone(zone).date()
    ends = [
        datetime.combine(day + plus, quiet.end, zone).replace(fold=fold).astimezone(UTC)
        for plus in (timedelta(0), _ONE_DAY)
        for fold in (0, 1)
    ]
    return min(end for end in ends if end >= at and not quiet.holds_at(end, zone))
