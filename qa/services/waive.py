"""Lets a requirement go, or judges it by hand: by name, role and reason."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from dispatch.services.remind import ask_for_order
from qa.domain.requirement import RULES
from qa.domain.verdict import Outcome
from qa.facts import installers_of
from qa.models import Closing, Nonconformance, SecondReview, Waiver
from qa.selectors import finished_film_is_there, verdicts_of
from qa.services.ask_proof import PROOF
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account, Repair

WAIVED = "waived"

NO_FILM_YET = (
    "The film of the finished repair is not there yet, so nobody can have looked through all of "
    "it. Look when it is handed in."
)


@transaction.atomic
def waive(
    *,
    repair: Repair,
    requirement: str,
    name: str,
    role: str,
    reason: str,
    by: Account,
    now: datetime,
) -> Waiver:
    """Record who let a requirement of the attempt under way go, and why.

    Ahead of time, too: what is still to be proved may be let go. What is met needs nobody's leave.

    Raises
    ------
    Refused
        If it is met or let go already, the attempt is closed, or the contract lets somebody else
        waive it, or nobody.
    """
    rows = {row["code"]: row for row in repair.work_order.requirement_set.requirements}
    if requirement not in rows:
        raise malformed(Fault("requirement", repr(requirement)[:60], f"one of {', '.join(rows)}"))
    _may_waive(rows[requirement], role)
    _not_closed(repair)
    not_the_installer(repair, attempt=repair.attempt, by=by)
    _something_to_let_go(repair, requirement, now)
    try:
        with transaction.atomic():
            waiver = Waiver.objects.create(
                repair=repair,
                attempt=repair.attempt,
                requirement=requirement,
                name=name,
                role=role,
                reason=reason,
                recorded_by=by,
                recorded_at=now,
            )
    except IntegrityError as error:
        raise Refused("already_there", f"{_named(requirement)} is let go already.") from error
    # Nobody is asked any more for what was let go.
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    Nonconformance.objects.filter(
        repair=repair,
        attempt=repair.attempt,
        code=requirement,
        disposition="",
        withdrawn_by__isnull=True,
    ).update(
        disposition=WAIVED,
        disposition_reason=f"{name}, {role}: {reason}",
        decided_by=by,
        decided_at=now,
    )
    return waiver


@transaction.atomic
def judge_by_hand(
    *, repair: Repair, requirement: str, reason: str, by: Account, now: datetime
) -> Waiver:
    """Record a reviewer's decision that a requirement is met which the rule cannot tell.

    It is no waiver: against 'not met' or 'incomplete' it is refused, and says nothing.
    """
    _not_closed(repair)
    not_the_installer(repair, attempt=repair.attempt, by=by)
    judged = {each.code: each for each in verdicts_of(repair, attempt=repair.attempt, now=now)}
    if requirement not in judged:
        expected = f"one of {', '.join(judged)}"
        raise malformed(Fault("requirement", repr(requirement)[:60], expected))
    verdict = judged[requirement].verdict
    if verdict.outcome is not Outcome.CANNOT_TELL:
        raise Refused(
            "not_for_judgement",
            f"{_named(requirement)} is {verdict.outcome.value}: {verdict.reason}. Only what the "
            "rule cannot tell is judged by a person; this wants proof, or a waiver.",
        )
    try:
        with transaction.atomic():
            row = Waiver.objects.create(
                repair=repair,
                attempt=repair.attempt,
                requirement=requirement,
                name=by.display_name,
                role=by.role,
                reason=reason,
                judged=True,
                recorded_by=by,
                recorded_at=now,
            )
    except IntegrityError as error:
        raise Refused("already_there", f"{_named(requirement)} is judged already.") from error
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    return row


@transaction.atomic
def look_through(*, repair: Repair, words: str, by: Account, now: datetime) -> SecondReview:
    """Record that a second reviewer looked through the whole proof of the attempt under way.

    Before the film of the finished repair is there, nobody can have looked through all of it.

    Raises
    ------
    Refused
        If that film is not there yet, they looked already, or the attempt is closed.
    """
    _not_closed(repair)
    not_the_installer(repair, attempt=repair.attempt, by=by)
    if not finished_film_is_there(repair, now=now):
        raise Refused("nothing_to_look_at", NO_FILM_YET)
    try:
        with transaction.atomic():
            row = SecondReview.objects.create(
                repair=repair, attempt=repair.attempt, reviewer=by, words=words, reviewed_at=now
            )
    except IntegrityError as error:
        raise Refused("already_there", "You looked through this attempt already.") from error
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    return row


def _named(code: str) -> str:
    """Return a requirement as people call it."""
    return f"“{RULES[code][0]}”"


def _something_to_let_go(repair: Repair, requirement: str, now: datetime) -> None:
    """Refuse a waiver of what is met, or judged met: the report would say both."""
    judged = verdicts_of(repair, attempt=repair.attempt, now=now)
    found = next(each for each in judged if each.code == requirement)
    if found.waiver is not None or not found.closes:
        return
    name, _, reason = found.judgement or ("", "", "")
    how = f"met: {found.verdict.reason}"
    if found.verdict.outcome is not Outcome.MET:
        how = f"judged met by {name}: {reason}"
    raise Refused(
        "nothing_to_let_go", f"{_named(requirement)} is {how}. There is nothing to let go."
    )


def not_the_installer(repair: Repair, *, attempt: int, by: Account) -> None:
    """Refuse whoever reported the work: nobody judges what they installed."""
    if by.username in installers_of(repair, attempt=attempt):
        raise Refused(
            "not_yours_to_review",
            "Whoever reported this repair's field events does not judge it; ask another reviewer.",
            status=403,
        )


def _may_waive(row: Mapping[str, Any], role: str) -> None:
    """Refuse a waiver the contract does not allow, or not to this role."""
    code = row["code"]
    if row.get("never_waived"):
        raise Refused(
            "not_allowed", f"{_named(code)}: the contract lets nobody waive this.", status=403
        )
    before = f"{_named(code)}: by the contract only"
    only_these(row.get("waived_by") or (), role, before, "may waive this")


def only_these(roles: Sequence[str], role: str, before: str, after: str) -> None:
    """Refuse a role that a contract's list does not name; an empty list names everybody."""
    if roles and role.strip().casefold() not in {each.casefold() for each in roles}:
        names = " or ".join(roles)
        raise Refused("not_allowed", f"{before} {names} {after}, not {role!r}.", status=403)


def _not_closed(repair: Repair) -> None:
    if Closing.objects.filter(repair=repair, attempt=repair.attempt).exists():
        raise Refused("already_closed", f"{repair.ref} is closed; its verdicts stand.")
