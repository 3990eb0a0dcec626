"""Who is told of a reminder, and when: crew lead, then dispatcher, then whoever is on call."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from dispatch.domain.quiet_hours import QuietHours, awake_at
from dispatch.domain.reminder import Reminder, Rung
from repairs.domain.problem import Fault, shown

ORDER = (Rung.CREW_LEAD, Rung.DISPATCHER, Rung.ON_CALL)
"""The ladder from the street upwards. Whoever is not on it is told alone."""

LONGEST_WAIT_MIN = 7 * 24 * 60


@dataclass(frozen=True, slots=True)
class Step:
    """A rung of a contract's ladder, and how long after the first one it is told."""

    to: Rung
    after: timedelta


@dataclass(frozen=True, slots=True)
class Ladder:
    """A contract's escalation: its steps in order, and its quiet hours, if any."""

    steps: tuple[Step, ...]
    quiet: QuietHours | None
    source: str = "common practice, no source"


USUAL = Ladder(
    steps=(
        Step(Rung.CREW_LEAD, timedelta(0)),
        Step(Rung.DISPATCHER, timedelta(minutes=5)),
        Step(Rung.ON_CALL, timedelta(minutes=15)),
    ),
    quiet=QuietHours(time(20, 0), time(7, 0)),
)
"""Where a contract says nothing. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Call:
    """Somebody is told at an instant."""

    to: Rung
    at: datetime


@dataclass(frozen=True, slots=True)
class Calls:
    """Who is to have been told by now, and who comes next, if nobody acknowledges."""

    told: tuple[Call, ...]
    next: Call | None


def who_is_told(
    reminder: Reminder,
    ladder: Ladder,
    acknowledged_at: datetime | None,
    now: datetime,
    zone: ZoneInfo,
) -> Calls:
    """Return who is told when.

    The first rung is told when the reminder is due; the waits of the others count
    from then. Quiet hours delay every rung to the morning of the place, except
    where resin is live, and the crew itself where it is at work. Nobody is told after
    somebody has acknowledged, nor when it is of no use any more. What first concerns
    somebody who is not on the ladder (the client, the office as a whole) is told to
    nobody else.
    """
    calls = [
        call
        for call in _all_calls(reminder, ladder, zone)
        if call.at < reminder.useful_until
        and (acknowledged_at is None or call.at < acknowledged_at)
    ]
    ahead = [call for call in calls if call.at > now]
    return Calls(tuple(call for call in calls if call.at <= now), ahead[0] if ahead else None)


def _all_calls(reminder: Reminder, ladder: Ladder, zone: ZoneInfo) -> Iterator[Call]:
    steps = _steps(reminder.to, ladder)
    begin = awake_at(reminder.due_at, _quiet_for(steps[0], reminder, ladder), zone)
    for step in steps:
        quiet = _quiet_for(step, reminder, ladder)
        yield Call(step.to, awake_at(begin + step.after - steps[0].after, quiet, zone))


def _quiet_for(step: Step, reminder: Reminder, ladder: Ladder) -> QuietHours | None:
    """Return the quiet hours of a rung: a crew that works at night is awake."""
    at_work = reminder.on_site and step.to is Rung.CREW_LEAD
    return None if reminder.live or at_work else ladder.quiet


def _steps(to: Rung, ladder: Ladder) -> tuple[Step, ...]:
    if to not in ORDER:
        return (Step(to, timedelta(0)),)
    first = ORDER.index(to)
    above = tuple(step for step in ladder.steps if ORDER.index(step.to) >= first)
    return above or ladder.steps[-1:]


def ladder_from(table: Mapping[str, Any]) -> Ladder:
    """Read a contract's escalation; what it leaves empty is the usual one.

    Parameters
    ----------
    table : mapping
        ``{"steps": [{"to": "crew lead", "after_min": 0}, ...],
        "quiet_from": "20:00", "quiet_until": "07:00", "source": "..."}``
    """
    if not table:
        return USUAL
    quiet = None
    if "quiet_from" in table:
        start, end = (time.fromisoformat(table[key]) for key in ("quiet_from", "quiet_until"))
        quiet = QuietHours(start, end)
    steps = tuple(
        Step(Rung(each["to"]), timedelta(minutes=each["after_min"])) for each in table["steps"]
    )
    return Ladder(steps, quiet, str(table["source"]))


def escalation_faults(table: Mapping[str, Any]) -> Iterator[Fault]:
    """Name what is wrong with a contract's escalation, in its order of reading."""
    if not table:
        return
    known = ("steps", "quiet_from", "quiet_until", "source")
    for name in table:
        if name not in known:
            yield Fault(f"escalation.{name}", "a field", f"one of {', '.join(known)}")
    yield from _step_faults(table.get("steps"))
    quiet = [name for name in ("quiet_from", "quiet_until") if name in table]
    if len(quiet) == 1:
        yield Fault("escalation", f"only {quiet[0]}", "quiet_from and quiet_until, or neither")
    for name in quiet:
        if not _is_time(table[name]):
            yield Fault(f"escalation.{name}", shown(table[name]), "a time such as 20:00")
    if not str(table.get("source", "")).strip():
        expected = "where it comes from, or 'common practice, no source'"
        yield Fault("escalation.source", "nothing", expected)


def _step_faults(steps: Any) -> Iterator[Fault]:
    if not isinstance(steps, list) or not steps:
        yield Fault("escalation.steps", shown(steps), "a list of steps")
        return
    before = (-1, -1.0)
    for number, each in enumerate(steps):
        field = f"escalation.steps[{number}]"
        to = each.get("to") if isinstance(each, Mapping) else None
        if to not in ORDER:
            yield Fault(f"{field}.to", shown(to), f"one of {', '.join(ORDER)}")
            return
        after = each.get("after_min")
        if isinstance(after, bool) or not isinstance(after, int | float):
            yield Fault(f"{field}.after_min", shown(after), "minutes after the first step")
            return
        here = (ORDER.index(Rung(to)), float(after))
        if here[0] <= before[0] or not before[1] <= here[1] <= LONGEST_WAIT_MIN or here[1] < 0:
            expected = "crew lead, dispatcher, on call in this order, each after the one before"
            yield Fault(field, f"{to} after {after} min", expected)
        before = here


def _is_time(value: Any) -> bool:
    try:
        return isinstance(value, str) and time.fromisoformat(value).tzinfo is None
    except ValueError:
        return False
