"""When an event happened, and in which order a set of events counts.

Two clocks tell of each event: the device's and the server's. The device's
offset is known as an interval, so a moment is an interval too, and what the
intervals cannot part is 'cannot tell' rather than a guess.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import accumulate
from uuid import UUID

from repairs.domain.field_event import Event


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant known within bounds, all aware UTC."""

    earliest: datetime
    best: datetime
    latest: datetime


def moment_of(event: Event) -> Moment:
    """Return when the event happened, as an interval of true time.

    Nothing can have happened after the server heard of it, whatever the
    device's clock says: the interval ends at the receipt.
    """
    latest = min(event.device_time + timedelta(seconds=event.offset_high_s), event.received_at)
    earliest = min(event.device_time + timedelta(seconds=event.offset_low_s), latest)
    return Moment(earliest, earliest + (latest - earliest) / 2, latest)


def is_from_the_future(event: Event) -> bool:
    """Whether the device says the event happened after the server received it."""
    return event.device_time + timedelta(seconds=event.offset_low_s) > event.received_at


def comparable(one: Event, other: Event) -> bool:
    """Whether the time between two events can be told.

    Both clocks were compared with ours, or both times come uncompared from one
    device, whose error is then in both and cancels.
    """
    if one.clock_verified and other.clock_verified:
        return True
    same_device = one.device == other.device
    return same_device and one.clock_verified == other.clock_verified


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
    counts (both stay stored), and neither does a correction that only takes
    back. A correction counts against an event of its own kind only, so that a
    slip of the finger cannot undo another step. The result depends on the set
    alone, never on the order of arrival.
    """
    return _parted(events)[0]


def no_longer_counted(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return the events that a later one replaced or took back, in order."""
    return _parted(events)[1]


def _parted(events: Iterable[Event]) -> tuple[tuple[Event, ...], tuple[Event, ...]]:
    by_id = {event.id: event for event in events}
    replaced = {
        target.id
        for event in by_id.values()
        if event.corrects is not None
        and (target := by_id.get(event.corrects)) is not None
        and (target.kind is event.kind or event.data.get("taken_back") is True)
    }
    counted: list[Event] = []
    dropped: list[Event] = []
    placed = _placed(by_id.values())
    for event in sorted(by_id.values(), key=lambda event: _order(event, placed)):
        if event.data.get("taken_back") is True:
            continue
        (dropped if event.id in replaced else counted).append(event)
    return tuple(counted), tuple(dropped)


def _placed(events: Iterable[Event]) -> dict[UUID, datetime]:
    """Return the instant by which each event is put in its place.

    That is its best one, moved inside its bounds so that the events of one device stand as the
    device counted them: of two readings a second apart a slow line must not make the older one
    newer. Where the clocks contradict the count, they stand as the clocks say.
    """
    placed: dict[UUID, datetime] = {}
    counted: dict[str, list[Event]] = {}
    for event in events:
        placed[event.id] = moment_of(event).best
        if event.sequence is not None:
            counted.setdefault(event.device, []).append(event)
    for of_device in counted.values():
        rows = sorted(of_device, key=lambda each: (each.sequence or 0, str(each.id)))
        placed |= _as_counted(rows)
    return placed


def _as_counted(rows: Sequence[Event]) -> dict[UUID, datetime]:
    """Return instants that never fall along the rows, for those whose bounds allow it."""
    moments = [moment_of(event) for event in rows]
    until = list(accumulate((each.latest for each in reversed(moments)), min))[::-1]
    found: dict[UUID, datetime] = {}
    reached = datetime.min.replace(tzinfo=UTC)
    for event, moment, latest in zip(rows, moments, until, strict=True):
        soonest = max(reached, moment.earliest)
        if soonest <= latest:
            found[event.id] = reached = min(max(soonest, moment.best), latest)
    return found


def _order(event: Event, placed: Mapping[UUID, datetime]) -> tuple[datetime, str, int, str]:
    return (placed[event.id], event.device, event.sequence or 0, str(event.id))
