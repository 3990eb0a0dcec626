"""Hold points ahead of a crew, in words that ask for nothing too early."""

from dataclasses import dataclass, replace
from datetime import datetime

from qa.domain.hold_points import HoldPoint, ahead
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Outcome
from qa.pages.next_step import BY_THE_CLOCK
from qa.pages.verdict_lines import sentence
from repairs.domain.field_event import EventKind
from repairs.pages.marks import mark_of

AHEAD = "ahead"
"""The word of a hold point that only the clock decides."""


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A hold point still ahead: what must be in order, and whether it is."""

    title: str
    word: str
    mark: str
    reason: str
    settle: str


def hold_lines(
    facts: RepairFacts, zone: str, *, now: datetime
) -> dict[EventKind, tuple[HoldLine, ...]]:
    """Return the hold points still ahead, by the step they stand before."""
    found: dict[EventKind, tuple[HoldLine, ...]] = {}
    for point in ahead(facts, now):
        found[point.step] = (*found.get(point.step, ()), _hold(point, zone))
    return found


def too_late(line: HoldLine) -> HoldLine:
    """Ask of what stood before a step that is over for nothing that cannot be done any more."""
    settle = "If it was done, report it with its time; otherwise tell the office."
    return replace(line, settle=settle)


def _hold(point: HoldPoint, zone: str) -> HoldLine:
    verdict = point.verdict
    if verdict.outcome is Outcome.INCOMPLETE and point.requirement in BY_THE_CLOCK:
        return HoldLine(point.title, AHEAD, mark_of("ordered"), BY_THE_CLOCK[point.requirement], "")
    word = verdict.outcome.value
    reason, settle = (sentence(words, zone) for words in (verdict.reason, verdict.settle))
    return HoldLine(point.title, word, mark_of(word), reason, settle)
