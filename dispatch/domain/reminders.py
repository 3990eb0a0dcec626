"""Which reminders a repair's clocks ask for, and until when each is of use.

One row of `TABLE` is one reminder. A reminder never makes a fact: it is
written from the clocks, and the clocks are asked again when it is due.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from repairs.domain.clocks import Clocks
from repairs.domain.cure_clock import CureStatus
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress

ALMOST_OVER = timedelta(minutes=8)
"""Lead time before the working time ends. Common practice, no source."""

STILL_OF_USE = timedelta(minutes=60)
"""After this a reminder about a cure is yesterday's news. Common practice, no source."""


WORTH_TELLING = timedelta(minutes=5)
"""A hold that moves by less is not told again. Common practice, no source."""

ONE_MINUTE = timedelta(minutes=1)

HOLD_OVER = "hold_until_reached"
HOLD_MOVED = "hold_moved"
CANNOT_TELL = "cure_cannot_tell"

_HOLD_MOVED_WORDS = (
    "KEEP THE PRESSURE. A colder reading has moved the hold: it now lasts until {hold}. "
    "What was told before no longer holds."
)
_CANNOT_TELL_WORDS = (
    "KEEP THE PRESSURE. When the cure is complete cannot be told. Read the wall temperature, "
    "check the phone's clock, and call the office."
)


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something to tell a crew at a time, unless the facts change first.

    `about` is the instant it speaks of: the same code about the same instant is told once.
    """

    code: str
    due_at: datetime
    useful_until: datetime
    words: str
    about: datetime


@dataclass(frozen=True, slots=True)
class _Row:
    code: str
    due: Callable[[Clocks], datetime | None]
    until: Callable[[Clocks], datetime | None]
    from_step: EventKind
    unless_step: EventKind
    words: str


def _before(lead: timedelta) -> Callable[[Clocks], datetime | None]:
    def due(clocks: Clocks) -> datetime | None:
        deadline = clocks.working.deadline_early
        return None if deadline is None else deadline - lead

    return due


TABLE: tuple[_Row, ...] = (
    _Row(
        code="working_time_running_out",
        due=_before(ALMOST_OVER),
        until=lambda clocks: clocks.working.deadline_early,
        from_step=EventKind.MIXING_STARTED,
        unless_step=EventKind.INFLATED,
        words="The resin's working time is almost over: inflate now, or do not place it.",
    ),
    _Row(
        code="working_time_over",
        due=_before(timedelta(0)),
        until=lambda clocks: _later(clocks.working.deadline_best),
        from_step=EventKind.MIXING_STARTED,
        unless_step=EventKind.INFLATED,
        words="The working time may be over. Do not place this sleeve: gelled, it blocks the pipe.",
    ),
    _Row(
        code="cure_best_reached",
        due=lambda clocks: clocks.cure.best,
        until=lambda clocks: clocks.cure.hold_until,
        from_step=EventKind.INFLATED,
        unless_step=EventKind.DEFLATED,
        words="The cure is probably complete, not surely. Keep the pressure; look at the log.",
    ),
    _Row(
        code=HOLD_OVER,
        due=lambda clocks: clocks.cure.hold_until,
        until=lambda clocks: _later(clocks.cure.hold_until),
        from_step=EventKind.INFLATED,
        unless_step=EventKind.DEFLATED,
        words="The hold is over by the chart and the log. Check the cured sample, then deflate.",
    ),
)


def reminders_for(
    progress: Progress, clocks: Clocks, now: datetime, told: Mapping[str, datetime]
) -> tuple[Reminder, ...]:
    """Return the reminders that the facts ask for now, in the order they are due.

    Parameters
    ----------
    now : datetime
        Warnings that take back what was told before are due at once.
    told : mapping
        For each code that was told in this attempt, the last instant it was about.
    """
    found = [*_warnings(progress, clocks, now, told)]
    for row in TABLE:
        due, until = row.due(clocks), row.until(clocks)
        wanted = progress.event(row.from_step) is not None
        past = progress.event(row.unless_step) is not None
        if due is None or until is None or not wanted or past:
            continue
        # A clock moves by seconds with each reading; to the full minute the
        # same reminder keeps its due time and is not written again.
        due = _full_minute(due)
        found.append(Reminder(row.code, due, max(until, due + ONE_MINUTE), row.words, due))
    return tuple(sorted(found, key=lambda each: each.due_at))


def _warnings(
    progress: Progress, clocks: Clocks, now: datetime, told: Mapping[str, datetime]
) -> Iterator[Reminder]:
    """Return what must be said at once because the facts turned against what was told."""
    under_pressure = (
        progress.event(EventKind.INFLATED) is not None
        and progress.event(EventKind.DEFLATED) is None
    )
    if not under_pressure:
        return
    at_once, hold = _minute(now), clocks.cure.hold_until
    if clocks.cure.status is CureStatus.CANNOT_TELL and CANNOT_TELL not in told:
        until = at_once + STILL_OF_USE
        yield Reminder(CANNOT_TELL, at_once, until, _CANNOT_TELL_WORDS, at_once)
    before = max((told[code] for code in (HOLD_OVER, HOLD_MOVED) if code in told), default=None)
    if before is not None and hold is not None and hold > max(now, before + WORTH_TELLING):
        hold = _full_minute(hold)
        words = _HOLD_MOVED_WORDS.format(hold=hold.isoformat(timespec="minutes"))
        yield Reminder(HOLD_MOVED, at_once, at_once + STILL_OF_USE, words, hold)


def _later(at: datetime | None) -> datetime | None:
    return None if at is None else at + STILL_OF_USE


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)


def _full_minute(at: datetime) -> datetime:
    cut = _minute(at)
    return cut if cut == at else cut + timedelta(minutes=1)
