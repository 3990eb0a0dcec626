"""What one sleeve's events say that is worth telling: its clocks, its readings, their silence."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from dispatch.domain.reminder import Found, full_minute, this_minute
from repairs.domain.clocks import Clocks
from repairs.domain.cure_clock import CureStatus
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.progress import Progress
from repairs.domain.units import Dimension, words

STILL_OF_USE = timedelta(minutes=60)
"""After this a reminder about a cure is yesterday's news. Common practice, no source."""

WORTH_TELLING = timedelta(minutes=5)
"""A hold that moves by less is not told again. Common practice, no source."""

HOLD_OVER = "hold_until_reached"
HOLD_MOVED = "hold_moved"


@dataclass(frozen=True, slots=True)
class SleeveFacts:
    """What one sleeve's reminders rest on.

    Parameters
    ----------
    told : mapping
        For each code that was told in this attempt, the last instant it was about.
    low_kpa, high_kpa : float or None
        The window the pressure is kept in.
    pressure_gap, temperature_gap : timedelta
        The longest silence the contract allows.
    """

    progress: Progress
    clocks: Clocks
    told: Mapping[str, datetime]
    low_kpa: float | None
    high_kpa: float | None
    pressure_gap: timedelta
    temperature_gap: timedelta


Find = Callable[[SleeveFacts, datetime], Iterator[Found]]


def by_the_clock(
    since: EventKind,
    unless: EventKind,
    due: Callable[[Clocks], datetime | None],
    until: Callable[[Clocks], datetime | None],
) -> Find:
    """Return a finder: between two steps, at an instant the clocks name."""

    def find(facts: SleeveFacts, _now: datetime) -> Iterator[Found]:
        at, end = due(facts.clocks), until(facts.clocks)
        wanted = facts.progress.event(since) is not None
        past = facts.progress.event(unless) is not None
        if wanted and not past and at is not None and end is not None:
            yield Found(at, end)

    return find


def _under_pressure(progress: Progress) -> Event | None:
    inflated = progress.event(EventKind.INFLATED)
    return None if progress.event(EventKind.DEFLATED) is not None else inflated


def cannot_tell(facts: SleeveFacts, now: datetime) -> Iterator[Found]:
    """Find a cure under pressure of which nobody can tell when it is complete."""
    inflated = _under_pressure(facts.progress)
    if inflated is not None and facts.clocks.cure.status is CureStatus.CANNOT_TELL:
        at = this_minute(now)
        yield Found(at, at + STILL_OF_USE, about=moment_of(inflated).best)


def hold_moved(facts: SleeveFacts, now: datetime) -> Iterator[Found]:
    """Find a hold that was told to be over and is not."""
    hold = facts.clocks.cure.hold_until
    said = [facts.told[code] for code in (HOLD_OVER, HOLD_MOVED) if code in facts.told]
    if _under_pressure(facts.progress) is None or not said or hold is None:
        return
    if hold <= now:
        return
    # A hold that moved again by little is the one that was told.
    moved, at = facts.told.get(HOLD_MOVED), this_minute(now)
    about = full_minute(hold) if hold > max(said) + WORTH_TELLING else moved
    if about is not None:
        given = {"hold": about.isoformat(timespec="minutes")}
        yield Found(at, at + STILL_OF_USE, about=about, given=given)


def gone_quiet(
    kind: EventKind, gap: Callable[[SleeveFacts], timedelta], *, only_if_begun: bool
) -> Find:
    """Return a finder: under pressure, no reading for longer than the contract allows."""

    def find(facts: SleeveFacts, _now: datetime) -> Iterator[Found]:
        inflated = _under_pressure(facts.progress)
        if inflated is None:
            return
        since = moment_of(inflated).best
        read = sorted(at for at in _read_at(facts.progress, kind) if at >= since)
        # A gauge read by hand now and then is no log that could go quiet.
        is_log = any(after - before <= gap(facts) for before, after in pairwise(read))
        if is_log or not only_if_begun:
            last = max(read, default=since)
            due = last + gap(facts)
            yield Found(due, due + STILL_OF_USE, about=last)

    return find


def _read_at(progress: Progress, kind: EventKind) -> Iterator[datetime]:
    for event in progress.all_of(kind):
        if kind is not EventKind.TEMPERATURE_READ or event.data.get("where") == "pipe_wall":
            yield moment_of(event).best


def outside_window(facts: SleeveFacts, _now: datetime) -> Iterator[Found]:
    """Find the first of the last readings in a row that lie outside the window."""
    inflated = _under_pressure(facts.progress)
    if inflated is None or facts.low_kpa is None or facts.high_kpa is None:
        return
    first: Event | None = None
    for event in (inflated, *facts.progress.all_of(EventKind.PRESSURE_READ)):
        if moment_of(event).best < moment_of(inflated).best:
            continue
        inside = facts.low_kpa <= _kpa(event) <= facts.high_kpa
        first = None if inside else (first or event)
        last = event
    if first is not None:
        # At once, so on the minute before: a full minute of low pressure is long.
        at = this_minute(moment_of(first).best)
        given = {
            "found": words(_kpa(last), Dimension.PRESSURE),
            "low": words(facts.low_kpa, Dimension.PRESSURE),
            "high": words(facts.high_kpa, Dimension.PRESSURE),
        }
        yield Found(at, moment_of(last).best + STILL_OF_USE, about=at, given=given)


def _kpa(event: Event) -> float:
    return float(event.data["pressure_kpa"])


def before(lead: timedelta) -> Callable[[Clocks], datetime | None]:
    """Return what names the instant so long before the early bound of the working time."""

    def due(clocks: Clocks) -> datetime | None:
        deadline = clocks.working.deadline_early
        return None if deadline is None else deadline - lead

    return due


def later(at: datetime | None) -> datetime | None:
    """Return until when it is of use to speak of an instant of the cure."""
    return None if at is None else at + STILL_OF_USE
