"""Nonconformances as whoever decides sees them: to be decided on, or to be carried out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from qa.domain.disposition import Disposition, advice
from qa.models import Nonconformance
from qa.pages.doing_again import DoingAgain, opened_by_doing_again
from qa.pages.repair_record import FileLine
from qa.pages.verdict_lines import VerdictLine, sentence
from qa.selectors import open_nonconformances
from repairs.models import Repair


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed and refused, to be shown again where it was typed."""

    act: str = ""
    words: Mapping[str, str] | None = None
    files: frozenset[str] = frozenset()

    def at(self, act: str, **target: str) -> Mapping[str, str]:
        """Return what was typed into this form; nothing if it was another one."""
        words = self.words or {}
        same = all(words.get(name) == value for name, value in target.items())
        return words if act == self.act and same else {}


@dataclass(frozen=True, slots=True)
class FileChoice:
    """A file of the repair that may be named as what shows it."""

    id: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class DecisionBox:
    """A nonconformance nobody has decided on.

    Parameters
    ----------
    again : DoingAgain
        Which attempt doing it again would open.
    not_enough : str
        Why accepting it as is does not close the repair; empty where it is enough.
    """

    id: str
    words: str
    deciding: Mapping[str, str]
    files: tuple[FileChoice, ...]
    accepting_roles: tuple[str, ...]
    advice: str
    again: DoingAgain
    not_enough: str
    dispositions: tuple[Disposition, ...] = tuple(Disposition)

    @property
    def who(self) -> str:
        """Say who may accept it as is."""
        if self.accepting_roles:
            roles = " or ".join(self.accepting_roles)
            return f"By the contract only {roles} may accept something as it is."
        return "The contract names nobody in particular who may accept something as it is."

    @property
    def chosen(self) -> bool:
        """Return whether a file is chosen still."""
        return any(each.chosen for each in self.files)


@dataclass(frozen=True, slots=True)
class ToDo:
    """A decision that is still to be carried out."""

    id: str
    words: str
    disposition: str
    files: tuple[FileChoice, ...]

    @property
    def chosen(self) -> bool:
        """Return whether a file is chosen still."""
        return any(each.chosen for each in self.files)


def _choices(
    files: Sequence[FileLine], typed: Typed, act: str, row: Nonconformance
) -> tuple[FileChoice, ...]:
    """Return the files to choose among; what was chosen and refused is chosen still."""
    chosen = typed.files if typed.at(act, nonconformance=str(row.pk)) else frozenset()
    return tuple(FileChoice(each.id, each.named, each.id in chosen) for each in files)


def decision_boxes(
    repair: Repair, typed: Typed, files: Sequence[FileLine], verdicts: Sequence[VerdictLine]
) -> tuple[DecisionBox, ...]:
    """Return what is to be decided, the oldest first."""
    rows = open_nonconformances(repair, attempt=repair.attempt).filter(disposition="")
    roles = tuple(repair.work_order.requirement_set.accepts_as_is)
    unproved = {line.code: line.title for line in verdicts if line.open}
    return tuple(
        DecisionBox(
            id=str(row.pk),
            words=_of_attempt(row, repair),
            deciding=typed.at("decide", nonconformance=str(row.pk)),
            accepting_roles=roles,
            advice=advice(attempt=row.attempt),
            files=_choices(files, typed, "decide", row),
            again=opened_by_doing_again(row, repair),
            not_enough=_not_enough(row, repair, unproved.get(row.code, "")),
        )
        for row in rows.order_by("opened_at", "pk")
    )


def to_do_boxes(repair: Repair, typed: Typed, files: Sequence[FileLine]) -> tuple[ToDo, ...]:
    """Return what was decided and is still to be carried out, the oldest first."""
    rows = open_nonconformances(repair, attempt=repair.attempt).exclude(disposition="")
    return tuple(
        ToDo(
            str(row.pk),
            _of_attempt(row, repair),
            row.disposition,
            _choices(files, typed, "done", row),
        )
        for row in rows.order_by("opened_at", "pk")
    )


def _not_enough(row: Nonconformance, repair: Repair, title: str) -> str:
    """Say that a requirement of the same name is open still, whoever accepts the nonconformance."""
    if not title:
        return ""
    words = f"Accepting it as is does not close the requirement “{title}”, which is not proved."
    if row.attempt != repair.attempt:
        return f"{words} A reviewer lets that go under “Not proved yet”, too."
    return (
        f"{words} Where a reviewer lets the requirement go under “Not proved yet”, that decides on "
        "this as well: then nothing is to be said here."
    )


def _of_attempt(row: Nonconformance, repair: Repair) -> str:
    earlier = f"Attempt {row.attempt}: " if row.attempt != repair.attempt else ""
    return earlier + sentence(row.words, repair.run.site.time_zone)
