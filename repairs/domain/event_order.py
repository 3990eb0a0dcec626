"""When an event happened, and in which order a set of events counts.

Two clocks tell of each event: the device's and the server's. The device's
offset is known as an interval, so a moment is an interval too, and what the
intervals cannot part is 'cannot tell' rather than a guess.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from repairs.domain.field_event import Event


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant known within bounds, all aware UTC."""

    earliest: datetime
    best: datetime
    latest: datetime


def moment_of(event: Event) -> Moment:
    """Return when the event happened, as an interval of true time."""
    earliest = event.device_time + timedelta(seconds=event.offset_low_s)
    latest = event.device_time + timedelta(seconds=event.offset_high_s)
    return Moment(earliest, earliest + (latest - earliest) / 2, latest)


def starts_after(later: Moment, sooner: Moment) -> bool | None:
    """Whether `later` lies after `sooner`; None where the clocks cannot tell.

    Returns
    -------
    bool or None
        True when every possible instant of `later` is after every possible
        instant of `sooner`, False when none is, None otherwise.
    """
    if later.earliest > sooner.latest:
        return True
    if later.latest < sooner.earliest:
        return False
    return None


def in_order(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return the events that count, each once, in the one order every reader gets.

    Repeats of an id are dropped, an event that another one corrects no longer
    counts (both stay stored), and so does a correction that only takes back.
    The result depends on the set alone, never on the order of arrival.
    """
    by_id = {event.id: event for event in events}
    corrected = {event.corrects for event in by_id.values() if event.corrects is not None}
    counted = [
        event
        for event in by_id.values()
        if event.id not in corrected and not event.data.get("taken_back")
    ]
    return tuple(sorted(counted, key=_order))


def _order(event: Event) -> tuple[datetime, str, int, str]:
    return (moment_of(event).best, event.device, event.sequence or 0, str(event.id))
