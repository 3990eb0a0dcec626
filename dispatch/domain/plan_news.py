"""What a published plan changes for one crew, in its own words and on its own clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

WORTH_TELLING = timedelta(minutes=15)
"""A start that moves by less is not told to anybody (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A repair on a crew's day; `key` tells apart those that are called the same."""

    key: str
    repair: str
    starts_at: datetime


def news_for(before: Iterable[Visit], after: Iterable[Visit], zone: str) -> str:
    """Return what a crew is told: only what is another than before; empty when nothing is."""
    was = {each.key: each for each in before}
    now = {each.key: each for each in after}
    lines = []
    for visit in sorted(now.values(), key=lambda each: (each.starts_at, each.repair)):
        old = was.get(visit.key)
        if old is None:
            lines.append(f"New: {visit.repair}, {_clock(visit.starts_at, zone)}.")
        elif abs(visit.starts_at - old.starts_at) >= WORTH_TELLING:
            moved = f"{_clock(visit.starts_at, zone)} instead of {_clock(old.starts_at, zone)}"
            lines.append(f"Moved: {visit.repair}, {moved}.")
    for visit in sorted(was.values(), key=lambda each: (each.starts_at, each.repair)):
        if visit.key not in now:
            at = _clock(visit.starts_at, zone)
            lines.append(f"No longer yours: {visit.repair}, was {at}.")
    return "\n".join(lines)


def _clock(at: datetime, zone: str) -> str:
    there = at.astimezone(ZoneInfo(zone))
    return f"{there:%a %d %b} {there:%H:%M}"
