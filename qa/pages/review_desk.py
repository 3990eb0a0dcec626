"""What whoever judges may do at a repair now: only that is shown, and what is not says why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from qa.domain.disposition import Disposition, advice
from qa.domain.verdict import Outcome
from qa.facts import installers_of
from qa.models import Nonconformance, SecondReview
from qa.pages.repair_record import FileLine, all_files
from qa.pages.repair_sheet import RepairSheet
from qa.pages.verdict_lines import VerdictLine, sentence
from qa.selectors import open_nonconformances
from repairs.domain.roles import Role
from repairs.models import Account, Repair

JUDGES = frozenset({Role.REVIEWER, Role.ADMINISTRATOR})
DECIDERS = JUDGES | {Role.DISPATCHER}
SECOND_REVIEW = "second_review"

INSTALLER = (
    "You reported steps of this repair. Whoever installed does not judge it, so that two people "
    "have looked: ask another reviewer."
)
ONLY_SECOND = (
    "You are the second reviewer of this repair, so somebody else closes it: it is to be seen by "
    "two people beside the crew."
)


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
class RequirementBox:
    """An open requirement: who may let it go by the contract, and whether a person may judge it."""

    line: VerdictLine
    roles: tuple[str, ...]
    never_waived: bool
    may_judge: bool
    waiving: Mapping[str, str]
    judging: Mapping[str, str]

    @property
    def open(self) -> bool:
        """Return whether something typed stands in it."""
        return bool(self.waiving or self.judging)

    @property
    def who(self) -> str:
        """Say who may let it go."""
        if self.never_waived:
            return "By the contract nobody may let this go."
        if self.roles:
            return f"By the contract only {' or '.join(self.roles)} may let this go."
        return "The contract names nobody in particular who may let this go."


@dataclass(frozen=True, slots=True)
class FileChoice:
    """A file of the repair that may be named as what shows it."""

    id: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class DecisionBox:
    """A nonconformance nobody has decided on."""

    id: str
    words: str
    deciding: Mapping[str, str]
    files: tuple[FileChoice, ...]
    accepting_roles: tuple[str, ...]
    advice: str
    dispositions: tuple[Disposition, ...] = tuple(Disposition)

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


@dataclass(frozen=True, slots=True)
class ReviewDesk:
    """The forms of one account at the attempt under way.

    Parameters
    ----------
    why_not : str
        Why nothing may be done here by this account; empty if it may.
    why_not_close : str
        Why it may do the rest, but not close.
    """

    attempt: int
    why_not: str
    boxes: tuple[RequirementBox, ...]
    decisions: tuple[DecisionBox, ...]
    to_do: tuple[ToDo, ...]
    may_look: bool
    looking: Mapping[str, str]
    may_close: bool
    why_not_close: str
    asking: bool
    let_go: int


def review_desk(
    account: Account, repair: Repair, sheet: RepairSheet, typed: Typed, *, asking: bool
) -> ReviewDesk | None:
    """Return the desk; None for whoever has none, and for an attempt that is over."""
    if account.role not in DECIDERS or sheet.attempt != repair.attempt or sheet.closed:
        return None
    files = [line for line in all_files(account, repair) if not line.taken_back]
    decisions = _decisions(repair, typed, files)
    to_do = _to_do(repair, typed, files)
    if account.role not in JUDGES and not decisions and not to_do:
        return None
    why_not = INSTALLER if account.username in _installers(repair) else ""
    if why_not:
        decisions = to_do = ()
    judges = account.role in JUDGES and not why_not
    looks = SecondReview.objects.filter(repair=repair, attempt=repair.attempt)
    lookers = set(looks.values_list("reviewer_id", flat=True))
    only_second = lookers == {account.pk}
    proved = not sheet.open and not decisions and not to_do
    return ReviewDesk(
        attempt=repair.attempt,
        why_not=why_not,
        boxes=_boxes(repair, sheet.verdicts, typed) if judges else (),
        decisions=decisions,
        to_do=to_do,
        may_look=judges and account.pk not in lookers and _asked_for(repair, SECOND_REVIEW),
        looking=typed.at("look"),
        may_close=judges and proved and not only_second,
        why_not_close=ONLY_SECOND if judges and proved and only_second else "",
        asking=asking,
        let_go=sum(line.waived for line in sheet.verdicts),
    )


def _installers(repair: Repair) -> frozenset[str]:
    return installers_of(repair, attempt=repair.attempt)


def _asked_for(repair: Repair, code: str) -> bool:
    return any(row["code"] == code for row in _contract(repair))


def _boxes(
    repair: Repair, lines: Sequence[VerdictLine], typed: Typed
) -> tuple[RequirementBox, ...]:
    rows = {row["code"]: row for row in _contract(repair)}
    return tuple(
        RequirementBox(
            line=line,
            roles=tuple(rows[line.code].get("waived_by") or ()),
            never_waived=bool(rows[line.code].get("never_waived")),
            may_judge=line.found == Outcome.CANNOT_TELL,
            waiving=typed.at("waive", requirement=line.code),
            judging=typed.at("judge", requirement=line.code),
        )
        for line in lines
        if line.open and line.code in rows
    )


def _choices(
    files: Sequence[FileLine], typed: Typed, act: str, row: Nonconformance
) -> tuple[FileChoice, ...]:
    """Return the files to choose among; what was chosen and refused is chosen still."""
    chosen = typed.files if typed.at(act, nonconformance=str(row.pk)) else frozenset()
    return tuple(FileChoice(each.id, each.named, each.id in chosen) for each in files)


def _decisions(repair: Repair, typed: Typed, files: Sequence[FileLine]) -> tuple[DecisionBox, ...]:
    rows = open_nonconformances(repair, attempt=repair.attempt).filter(disposition="")
    roles = tuple(repair.work_order.requirement_set.accepts_as_is)
    return tuple(
        DecisionBox(
            id=str(row.pk),
            words=_of_attempt(row, repair),
            deciding=typed.at("decide", nonconformance=str(row.pk)),
            accepting_roles=roles,
            advice=advice(attempt=row.attempt),
            files=_choices(files, typed, "decide", row),
        )
        for row in rows.order_by("opened_at", "pk")
    )


def _to_do(repair: Repair, typed: Typed, files: Sequence[FileLine]) -> tuple[ToDo, ...]:
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


def _of_attempt(row: Nonconformance, repair: Repair) -> str:
    earlier = f"Attempt {row.attempt}: " if row.attempt != repair.attempt else ""
    return earlier + sentence(row.words)


def _contract(repair: Repair) -> list[dict[str, Any]]:
    return list(repair.work_order.requirement_set.requirements)
