"""What whoever judges may do at a repair now: only that is shown, and what is not says why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from qa.domain.verdict import Outcome
from qa.facts import installers_of
from qa.models import SecondReview
from qa.pages.decision_boxes import DecisionBox, ToDo, Typed, decision_boxes, to_do_boxes
from qa.pages.repair_record import all_files
from qa.pages.repair_sheet import RepairSheet
from qa.pages.verdict_lines import VerdictLine
from qa.selectors import finished_film_is_there
from qa.services.waive import NO_FILM_YET
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
class ReviewDesk:
    """The forms of one account at the attempt under way.

    Parameters
    ----------
    why_not : str
        Why nothing may be done here by this account; empty if it may.
    why_not_look : str
        Why nobody can take the second look yet.
    why_not_close : str
        Why it may do the rest, but not close.
    """

    attempt: int
    why_not: str
    boxes: tuple[RequirementBox, ...]
    decisions: tuple[DecisionBox, ...]
    to_do: tuple[ToDo, ...]
    may_look: bool
    why_not_look: str
    looking: Mapping[str, str]
    may_close: bool
    why_not_close: str
    asking: bool
    let_go: int


def review_desk(
    account: Account,
    repair: Repair,
    sheet: RepairSheet,
    typed: Typed,
    *,
    asking: bool,
    now: datetime,
) -> ReviewDesk | None:
    """Return the desk; None for whoever has none, and for an attempt that is over."""
    if account.role not in DECIDERS or sheet.attempt != repair.attempt or sheet.closed:
        return None
    files = [line for line in all_files(account, repair) if not line.taken_back]
    decisions = decision_boxes(repair, typed, files, sheet.verdicts)
    to_do = to_do_boxes(repair, typed, files)
    if account.role not in JUDGES and not decisions and not to_do:
        return None
    why_not = INSTALLER if account.username in _installers(repair) else ""
    if why_not:
        decisions = to_do = ()
    judges = account.role in JUDGES and not why_not
    wants_look = judges and _asked_for(repair, SECOND_REVIEW)
    film_is_there = finished_film_is_there(repair, now=now)
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
        may_look=wants_look and film_is_there and account.pk not in lookers,
        why_not_look=NO_FILM_YET if wants_look and not film_is_there else "",
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


def _contract(repair: Repair) -> list[dict[str, Any]]:
    return list(repair.work_order.requirement_set.requirements)
