"""Who knows what is to be told: each source asks the facts of its subjects.

Dispatch knows repairs and trucks; qa, which dispatch may not import, adds what it knows
of the proof. A source lives beside what it asks::

    @reminder_source("proof", of=Repair)
    def proof(subject_id: str, now: datetime) -> Asked | None:
        ...
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Model

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
_subjects: dict[str, type[Model]] = {}


def reminder_source(name: str, *, of: type[Model]) -> Callable[[Ask], Ask]:
    """Register the decorated function as the source of this name, of subjects of a model."""

    def register(ask: Ask) -> Ask:
        _sources[name], _subjects[name] = ask, of
        return ask

    return register


def hold_subject(name: str, subject_id: str) -> None:
    """Let nobody else bring the same subject in line until the transaction ends.

    Otherwise one that has read older facts could call off what another has just written.
    """
    rows = _subjects[name]._default_manager.select_for_update(no_key=True)  # noqa: SLF001
    rows.filter(pk=subject_id).values_list("pk").first()


def ask_source(name: str, subject_id: str, now: datetime) -> Asked | None:
    """Ask the facts anew."""
    return _sources[name](subject_id, now)


def sources_of(model: type[Model]) -> list[str]:
    """Return the sources whose subjects are rows of a model."""
    return [name for name, subject in _subjects.items() if subject is model]
