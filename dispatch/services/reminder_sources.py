"""Who knows what is to be told: each source asks the facts of its subjects.

Dispatch knows repairs and trucks; qa, which dispatch may not import, adds what it knows
of the proof. A source lives beside what it asks::

    @reminder_source("proof")
    def proof(subject_id: str, now: datetime) -> Asked | None:
        ...
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from dispatch.domain.escalation import Ladder
from dispatch.domain.reminder import Reminder
from dispatch.models import Crew
from repairs.models import Repair


@dataclass(frozen=True, slots=True)
class Asked:
    """What the facts of one subject ask to be told, and what surrounds it.

    `since` keeps apart what is told anew, such as the attempts at a repair.
    """

    reminders: tuple[Reminder, ...]
    repair: Repair | None
    crew: Crew | None
    zone: ZoneInfo
    ladder: Ladder
    since: str = "1"


Ask = Callable[[str, datetime], Asked | None]
"""Answers for a subject's id at an instant; None where the subject is gone."""

_sources: dict[str, Ask] = {}


def reminder_source(name: str) -> Callable[[Ask], Ask]:
    """Register the decorated function as the source of this name."""

    def register(ask: Ask) -> Ask:
        _sources[name] = ask
        return ask

    return register


def ask_source(name: str, subject_id: str, now: datetime) -> Asked | None:
    """Ask the facts anew."""
    return _sources[name](subject_id, now)
