"""Reads of proof: what an account may see, and the verdicts of a repair."""

from datetime import datetime

from django.db.models import F, QuerySet

from dispatch.selectors import visible_repairs
from qa.domain.requirement import Judged, judge_all
from qa.facts import facts_of
from qa.models import CloseoutPackage, Evidence, Nonconformance, Waiver
from repairs.domain.roles import Role
from repairs.models import Account, Repair


def verdicts_of(repair: Repair, *, attempt: int, now: datetime) -> tuple[Judged, ...]:
    """Judge every requirement of the repair's contract, from what is known at this moment."""
    facts = facts_of(repair, attempt=attempt, now=now)
    waivers = {
        row.requirement: (row.name, row.role, row.reason)
        for row in Waiver.objects.filter(repair=repair, attempt=attempt)
    }
    return judge_all(repair.work_order.requirement_set.requirements, facts, waivers)


def visible_evidence(account: Account) -> QuerySet[Evidence]:
    """Return the evidence of the repairs an account may see."""
    rows = Evidence.objects.select_related("repair", "taken_back_by")
    rows = rows.prefetch_related("shown_times__said_by")
    if account.role == Role.CLIENT:
        # A client sees files once they are handed over with a closed attempt.
        rows = rows.filter(repair__closings__attempt=F("attempt"), taken_back_at__isnull=True)
    return rows.filter(repair__in=visible_repairs(account).values("pk")).distinct()


def visible_packages(account: Account) -> QuerySet[CloseoutPackage]:
    """Return the packages an account may see: the office all, a client its own."""
    rows = CloseoutPackage.objects.select_related("closing__repair__work_order__customer")
    if account.is_office:
        return rows
    if account.role == Role.CLIENT:
        return rows.filter(closing__repair__work_order__customer=account.customer_id)
    return rows.none()


def open_nonconformances(repair: Repair, *, attempt: int) -> QuerySet[Nonconformance]:
    """Return the nonconformances of an attempt that nobody has decided on."""
    return Nonconformance.objects.filter(
        repair=repair, attempt=attempt, withdrawn_at__isnull=True, disposition=""
    )
