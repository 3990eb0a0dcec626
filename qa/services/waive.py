"""Lets a requirement go, or judges it by hand: by name, role and reason."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from dispatch.services.remind import ask_for_order
from qa.domain.verdict import Outcome
from qa.facts import installers_of
from qa.models import Closing, Nonconformance, SecondReview, Waiver
from qa.selectors import verdicts_of
from qa.services.ask_proof import PROOF
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account, Repair

WAIVED = "waived"


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
    """Record who let a requirement of the attempt under way go, and why."""
    rows = {row["code"]: row for row in repair.work_order.requirement_set.requirements}
    if requirement not in rows:
        raise malformed(Fault("requirement", repr(requirement)[:60], f"one of {', '.join(rows)}"))
    _may_waive(rows[requirement], role)
    _not_closed(repair)
    not_the_installer(repair, attempt=repair.attempt, by=by)
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
        raise Refused("already_there", f"{requirement} is waived already.") from error
    # Nobody is asked any more for what was let go.
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    Nonconformance.objects.filter(
        repair=repair, attempt=repair.attempt, code=requirement, disposition=""
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
            f"{requirement} is '{verdict.outcome.value}': {verdict.reason}. Only what the rule "
            "cannot tell is judged by a person; this wants proof, or a waiver.",
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
        raise Refused("already_there", f"{requirement} is judged already.") from error
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    return row


@transaction.atomic
def look_through(*, repair: Repair, words: str, by: Account, now: datetime) -> SecondReview:
    """Record that a second reviewer looked through the whole proof of the attempt under way."""
    _not_closed(repair)
    not_the_installer(repair, attempt=repair.attempt, by=by)
    try:
        with transaction.atomic():
            row = SecondReview.objects.create(
                repair=repair, attempt=repair.attempt, reviewer=by, words=words, reviewed_at=now
            )
    except IntegrityError as error:
        raise Refused("already_there", "You looked through this attempt already.") from error
    ask_for_order(source=PROOF, subject_id=str(repair.pk), now=now)
    return row


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
        raise Refused("not_allowed", f"{code}: the contract lets nobody waive this.", status=403)
    only_these(row.get("waived_by") or (), role, f"{code}: by the contract only", "may waive this")


def only_these(roles: Sequence[str], role: str, before: str, after: str) -> None:
    """Refuse a role that a contract's list does not name; an empty list names everybody."""
    if roles and role.strip().casefold() not in {each.casefold() for each in roles}:
        names = " or ".join(roles)
        raise Refused("not_allowed", f"{before} {names} {after}, not {role!r}.", status=403)


def _not_closed(repair: Repair) -> None:
    if Closing.objects.filter(repair=repair, attempt=repair.attempt).exists():
        raise Refused("already_closed", f"{repair.ref} is closed; its verdicts stand.")
