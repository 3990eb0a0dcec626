"""What a published plan changes for one crew, in its own words and on its own clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

WORTH_TELLING = timedelta(minutes=15)
"""A start that moves by less is not told to anybody (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A repair on a crew's day; `key` tells apart those that are called the same.

    `beside` names the repair in whose cure it is set up, empty where the crew does nothing else.
    """

    key: str
    repair: str
    starts_at: datetime
    street: str = ""
    beside: str = ""


def news_for(before: Iterable[Visit], after: Iterable[Visit], zone: str) -> str:
    """Return what a crew is told: only what is another than before; empty when nothing is."""
    was = {each.key: each for each in before}
    now = {each.key: each for each in after}
    lines = []
    for visit in sorted(now.values(), key=lambda each: (each.starts_at, each.repair)):
        old = was.get(visit.key)
        if old is None:
            lines.append(f"New: {_named(visit)}, {_clock(visit.starts_at, zone)}{_cure(visit)}.")
        elif abs(visit.starts_at - old.starts_at) >= WORTH_TELLING:
            moved = f"{_clock(visit.starts_at, zone)} instead of {_clock(old.starts_at, zone)}"
            lines.append(f"Moved: {_named(visit)}, {moved}{_cure(visit, old)}.")
        elif visit.beside != old.beside:
            at = _clock(visit.starts_at, zone)
            lines.append(f"Changed: {_named(visit)}, {at}{_cure(visit, old)}.")
    for visit in sorted(was.values(), key=lambda each: (each.starts_at, each.repair)):
        if visit.key not in now:
            at = _clock(visit.starts_at, zone)
            lines.append(f"No longer yours: {_named(visit)}, was {at}.")
    return "\n".join(lines)


def _named(visit: Visit) -> str:
    return f"{visit.repair}, {visit.street}" if visit.street else visit.repair


def _cure(visit: Visit, old: Visit | None = None) -> str:
    """Say that two are live at once: nobody finds that out on the street."""
    if visit.beside:
        outer = visit.beside
        return f", set up while {outer} cures: two packers, and somebody stays with {outer}"
    return f", no longer while {old.beside} cures" if old and old.beside else ""


def _clock(at: datetime, zone: str) -> str:
    there = at.astimezone(ZoneInfo(zone))
    return f"{there:%a %d %b} {there:%H:%M}"
