"""What a crew does from leaving the yard to being back, piece by piece, to be drawn as a strip."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple


class Doing(StrEnum):
    """What the crew's hands do."""

    DRIVE = "driving"
    SET_UP = "set-up"
    CURE = "cure"
    FINISH = "finish"
    WAIT = "waiting"
    LUNCH = "lunch"


class Piece(NamedTuple):
    """One piece of a day in seconds; `stop` is the index it belongs to, None for none."""

    doing: Doing
    starts_s: int
    ends_s: int
    stop: int | None = None


@dataclass(frozen=True, slots=True)
class LaidStop:
    """A stop of a plan as its clock says, in seconds; the cure lies between set-up and finish."""

    place: int
    arrival_s: int
    start_s: int
    end_s: int
    setup_s: int
    finish_s: int

    @property
    def cure_from_s(self) -> int:
        """Return when the set-up is over."""
        return self.start_s + self.setup_s

    @property
    def cure_until_s(self) -> int:
        """Return when the finish begins."""
        return self.end_s - self.finish_s


@dataclass(frozen=True, slots=True)
class LaidDay:
    """A crew-day: when it leaves from where, when it is back, and its meal as (start, length)."""

    leaves_s: int
    back_s: int
    start_place: int
    end_place: int
    stops: tuple[LaidStop, ...]
    lunch: tuple[int, int] | None = None


class _Visit(NamedTuple):
    starts_s: int
    ends_s: int
    stop: int
    sets_up: bool


def pieces(day: LaidDay, way_s: Callable[[int, int], int]) -> tuple[Piece, ...]:
    """Return the day without a gap or an overlap, from leaving to being back.

    Between its own set-up and its own finish a crew stays with the cure. Where it sets up
    another repair meanwhile it drives to and fro, and what is left of the time until a
    finish is waiting for that cure.

    Parameters
    ----------
    way_s : callable
        Seconds of driving from one place to another.
    """
    found: list[Piece] = []
    now, place, last = day.leaves_s, day.start_place, -1
    for visit in _visits(day.stops):
        stop = day.stops[visit.stop]
        way = 0 if last == visit.stop else way_s(place, stop.place)
        leaves = stop.arrival_s - way if visit.sets_up else now
        found.append(Piece(Doing.WAIT, now, leaves))
        found.append(Piece(Doing.DRIVE, leaves, leaves + way, visit.stop))
        idle = Doing.WAIT if visit.sets_up else Doing.CURE
        found.append(Piece(idle, leaves + way, visit.starts_s, visit.stop))
        work = Doing.SET_UP if visit.sets_up else Doing.FINISH
        found.append(Piece(work, visit.starts_s, visit.ends_s, visit.stop))
        now, place, last = visit.ends_s, stop.place, visit.stop
    if day.stops:
        home = way_s(place, day.end_place)
        found.append(Piece(Doing.WAIT, now, day.back_s - home))
        found.append(Piece(Doing.DRIVE, day.back_s - home, day.back_s))
    return tuple(_with_lunch([each for each in found if each.ends_s > each.starts_s], day.lunch))


def tracks(beside: Sequence[int | None]) -> tuple[int, ...]:
    """Return for each stop which of two rows it is drawn in.

    A stop that is set up in another's cure (`beside` is the index of that one) has the other
    row, so that two live sleeves never cover each other.
    """
    rows: list[int] = []
    for outer in beside:
        rows.append(0 if outer is None else 1 - rows[outer])
    return tuple(rows)


def _visits(stops: Sequence[LaidStop]) -> list[_Visit]:
    ups = [_Visit(s.start_s, s.cure_from_s, at, sets_up=True) for at, s in enumerate(stops)]
    downs = [_Visit(s.cure_until_s, s.end_s, at, sets_up=False) for at, s in enumerate(stops)]
    return sorted([*ups, *downs], key=lambda each: (each.starts_s, each.ends_s, each.stop))


def _with_lunch(found: Sequence[Piece], lunch: tuple[int, int] | None) -> list[Piece]:
    """Return the pieces with the meal cut out of whatever the crew does idly then."""
    if lunch is None:
        return list(found)
    begins, ends = lunch[0], lunch[0] + lunch[1]
    cut: list[Piece] = []
    for each in found:
        starts, stops = max(each.starts_s, begins), min(each.ends_s, ends)
        if each.doing not in {Doing.WAIT, Doing.CURE} or starts >= stops:
            cut.append(each)
            continue
        parts = (
            each._replace(ends_s=starts),
            Piece(Doing.LUNCH, starts, stops, each.stop),
            each._replace(starts_s=stops),
        )
        cut.extend(part for part in parts if part.ends_s > part.starts_s)
    return cut
