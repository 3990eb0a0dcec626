"""Reads from the progress of a repair how long its steps took, as far as the clocks can tell."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from dispatch.domain.plan.durations import Observation, Step
from dispatch.domain.plan.travel import LatLon
from dispatch.domain.plan.travel_fit import Trip, great_circle_m
from repairs.domain.chart import ClockStart
from repairs.domain.event_order import comparable, is_from_the_future, moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.progress import Progress, of_sleeve, sleeves_begun


class LeftOut(StrEnum):
    """Why a step could not be observed at all."""

    CLOCK_IN_DOUBT = "a clock is in doubt"
    ON_HOLD = "the work was on hold"
    NOT_LEFT_YET = "the next arrival lies before the departure"


_STARTED_BY = {
    ClockStart.MIXING: EventKind.MIXING_STARTED,
    ClockStart.WET_OUT: EventKind.WET_OUT_DONE,
    ClockStart.INFLATION: EventKind.INFLATED,
}
_TELLS_WITHIN = timedelta(minutes=5)
"""A moment known less exactly is in doubt; common practice, no source."""
_SAME_DAY = timedelta(hours=4)
_NEAR_M = 300.0
"""Nearer than this two repairs share a street, and nobody drives."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One attempt at a repair by one crew, and what its chart asked for.

    Parameters
    ----------
    place : LatLon
        Where the crew stood: the access point the repair is measured from.
    hold_min, wall_c : float or None
        The prescribed hold and the temperature it was read at.
    """

    progress: Progress
    crew: str
    diameter_mm: float
    place: LatLon
    hold_min: float | None
    clock_start: ClockStart
    wall_c: float | None


@dataclass(frozen=True, slots=True)
class Seen:
    """What was observed of one visit; arrival and departure are None where in doubt."""

    crew: str
    place: LatLon
    arrived: Event | None
    left: Event | None
    observations: tuple[Observation, ...]


@dataclass(frozen=True, slots=True)
class Drives:
    """The drives between visits of one crew."""

    observations: tuple[Observation, ...]
    trips: tuple[Trip, ...]
    left_out: Mapping[LeftOut, int] = field(default_factory=dict)


def seen_of(visit: Visit) -> tuple[Seen, Mapping[LeftOut, int]]:
    """Return what a visit tells, and what it cannot tell, counted by reason.

    A step whose two ends lie on clocks that cannot be compared is left out. So is the whole
    of a visit that was on hold: the time somebody waited for a part is no set-up.
    """
    progress, out = visit.progress, Counter[LeftOut]()
    arrived, left = progress.event(EventKind.ARRIVED), progress.event(EventKind.LEFT)
    found: list[Observation] = []
    if progress.all_of(EventKind.HELD):
        out[LeftOut.ON_HOLD] += 1
    else:
        for step, start, end in _spans(visit):
            seconds = _seconds(start, end)
            if seconds is None:
                out[LeftOut.CLOCK_IN_DOUBT] += 1
            else:
                found.append(_observation(visit, step, seconds, moment_of(end).best))
    return Seen(visit.crew, visit.place, _told(arrived), _told(left), tuple(found)), out


def _spans(visit: Visit) -> Iterable[tuple[Step, Event, Event]]:
    """Yield each step both ends of which were reported."""
    progress = visit.progress
    sleeves = [of_sleeve(progress, each) for each in sleeves_begun(progress.steps)]
    mixed = [e for each in sleeves if (e := each.event(EventKind.MIXING_STARTED))]
    out = [e for each in sleeves if (e := each.event(EventKind.DEFLATED))]
    ends: list[tuple[Step, Event | None, Event | None]] = [
        (Step.SET_UP, progress.event(EventKind.ARRIVED), min(mixed, key=_best, default=None)),
        (Step.FINISH, max(out, key=_best, default=None), progress.event(EventKind.LEFT)),
    ]
    for each in sleeves:
        inflated = each.event(EventKind.INFLATED)
        started = each.event(_STARTED_BY[visit.clock_start])
        ends.append((Step.WORKING, each.event(EventKind.MIXING_STARTED), inflated))
        ends.append((Step.CURE, started, each.event(EventKind.DEFLATED)))
    for step, start, end in ends:
        if start is not None and end is not None and (step is not Step.CURE or visit.hold_min):
            yield step, start, end


def _observation(visit: Visit, step: Step, seconds: float, at: datetime) -> Observation:
    floor_s = (visit.hold_min or 0.0) * 60 if step is Step.CURE else 0.0
    return Observation(step, seconds, visit.crew, visit.diameter_mm, visit.wall_c, at, floor_s)


def travelled(visits: Iterable[Seen]) -> Drives:
    """Return the drives of each crew from one visit to its next on the same day."""
    by_crew: dict[str, list[Seen]] = {}
    for each in visits:
        if each.arrived is not None and each.left is not None:
            by_crew.setdefault(each.crew, []).append(each)
    found: list[Observation] = []
    trips: list[Trip] = []
    out: Counter[LeftOut] = Counter()
    for crew, own in by_crew.items():
        for one, other in pairwise(sorted(own, key=lambda each: _best(each.arrived))):
            seconds = _drive_s(one, other)
            if seconds is not None and seconds <= 0:
                out[LeftOut.NOT_LEFT_YET] += 1
            if seconds is None or not 0 < seconds <= _SAME_DAY.total_seconds():
                continue
            at = _best(other.arrived)
            found.append(Observation(Step.TRAVEL, seconds, crew, None, None, at))
            trips.append(Trip(great_circle_m(one.place, other.place), seconds, at))
    return Drives(tuple(found), tuple(sorted(trips, key=lambda trip: trip.at)), out)


def _drive_s(one: Seen, other: Seen) -> float | None:
    """Return the seconds from a departure to the next arrival, None round the corner."""
    if one.left is None or other.arrived is None:
        return None
    if great_circle_m(one.place, other.place) < _NEAR_M:
        return None
    return _seconds(one.left, other.arrived)


def _seconds(start: Event, end: Event) -> float | None:
    """Return the seconds between two events, None where the clocks cannot tell.

    Between two taps of one phone whose clock nobody compared, its own clock tells.
    """
    if not comparable(start, end) or _told(start) is None or _told(end) is None:
        return None
    if not start.clock_verified:
        return (end.device_time - start.device_time).total_seconds()
    return (_best(end) - _best(start)).total_seconds()


def _told(event: Event | None) -> Event | None:
    """Return the event where it can be told when it happened."""
    if event is None or is_from_the_future(event):
        return None
    moment = moment_of(event)
    known = not event.clock_verified or moment.latest - moment.earliest <= _TELLS_WITHIN
    return event if known else None


def _best(event: Event | None) -> datetime:
    assert event is not None  # noqa: S101 - only asked of events that are there
    return moment_of(event).best
