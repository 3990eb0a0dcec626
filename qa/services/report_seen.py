"""Takes what a person saw that is not as required; until it is decided it can be withdrawn."""

from datetime import datetime

from django.db import transaction

from qa.models import Nonconformance
from qa.services.waive import not_the_installer
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Account, Repair

SEEN = "seen"
"""The code of what a person reports without naming a requirement."""

WITHDRAWERS = frozenset({Role.REVIEWER, Role.ADMINISTRATOR})
"""Who may withdraw what somebody else reported."""


@transaction.atomic
def report_seen(
    *, repair: Repair, words: str, by: Account, now: datetime, code: str = SEEN
) -> Nonconformance:
    """Record something that is not as required, of the attempt under way; it is never refused."""
    locked = Repair.objects.select_for_update().get(pk=repair.pk)
    return Nonconformance.objects.create(
        repair=locked,
        attempt=locked.attempt,
        code=code,
        words=words,
        found_by_rule=False,
        opened_by=by,
        opened_at=now,
    )


@transaction.atomic
def withdraw_seen(
    *, nonconformance: Nonconformance, reason: str, by: Account, now: datetime
) -> Nonconformance:
    """Withdraw a report that was a slip; it stays on record with who withdrew it and why.

    Raises
    ------
    Refused
        If a rule found it, it is decided on or withdrawn already, somebody else reported it and
        `by` is no reviewer, or a reviewer who installed withdraws somebody else's.
    """
    repair = Repair.objects.select_for_update().get(pk=nonconformance.repair_id)
    row = Nonconformance.objects.select_for_update().get(pk=nonconformance.pk)
    if row.found_by_rule:
        raise Refused(
            "not_for_judgement",
            "A rule found it, and withdraws it by itself when the facts show that all was well. "
            "Correct what was reported, or decide on it.",
        )
    if row.opened_by_id != by.pk:
        if by.role not in WITHDRAWERS:
            raise Refused(
                "not_allowed",
                "Somebody else reported it: they withdraw it, or a reviewer does.",
                status=403,
            )
        not_the_installer(repair, attempt=row.attempt, by=by)
    if row.withdrawn_at is not None:
        raise Refused("already_answered", "It is withdrawn already.")
    if row.disposition:
        raise Refused("already_answered", f"It was decided already: {row.disposition}.")
    row.withdrawn_at, row.withdrawn_by, row.withdrawn_reason = now, by, reason
    row.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_reason"])
    return row
