"""Reads of proof: what an account may see, and the verdicts of a repair."""

from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.db.models import F, Max, Min, Model, Q, QuerySet

from dispatch.selectors import visible_repairs
from qa.domain.disposition import TO_BE_DONE
from qa.domain.evidence_kind import EvidenceKind
from qa.domain.requirement import Judged, judge_all
from qa.facts import evidence_of, facts_of
from qa.models import (
    CloseoutPackage,
    Closing,
    CollectedPackage,
    Evidence,
    FileCheck,
    Nonconformance,
    PackageLink,
    Waiver,
)
from repairs.domain.roles import Role
from repairs.models import Account, Customer, Repair, WorkOrder

M = TypeVar("M", bound=Model)


def verdicts_of(repair: Repair, *, attempt: int, now: datetime) -> tuple[Judged, ...]:
    """Judge every requirement of the repair's contract, from what is known at this moment."""
    facts = facts_of(repair, attempt=attempt, now=now)
    let_go: dict[bool, dict[str, tuple[str, str, str]]] = {True: {}, False: {}}
    for row in Waiver.objects.filter(repair=repair, attempt=attempt):
        let_go[row.judged][row.requirement] = (row.name, row.role, row.reason)
    requirements = repair.work_order.requirement_set.requirements
    return judge_all(requirements, facts, let_go[False], let_go[True])


def finished_film_is_there(repair: Repair, *, now: datetime) -> bool:
    """Tell whether the film of the finished repair of the attempt under way has come in."""
    films = evidence_of(repair, attempt=repair.attempt, now=now)
    return films.filter(kind=EvidenceKind.POST_REPAIR_FILM).exists()


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
    rows = CloseoutPackage.objects.select_related(
        "closing__repair__work_order__customer", "closing__repair__work_order__requirement_set"
    )
    return _own(rows, account, "closing__repair__work_order__customer")


def visible_collections(account: Account) -> QuerySet[CollectedPackage]:
    """Return the collected packages an account may see: the office all, a client its own."""
    return _own(CollectedPackage.objects.select_related("customer"), account, "customer")


def visible_links(account: Account) -> QuerySet[PackageLink]:
    """Return the links to what an account may see."""
    rows = PackageLink.objects.select_related("package", "collected", "made_by", "sent_to")
    package, collected = visible_packages(account), visible_collections(account)
    return rows.filter(
        Q(package__in=package.values("pk")) | Q(collected__in=collected.values("pk"))
    )


def visible_customers(account: Account) -> QuerySet[Customer]:
    """Return the customers an account may collect for."""
    return _own(Customer.objects.all(), account, "pk")


def zones_of(customer: Customer) -> tuple[str, ...]:
    """Return the time zone of each of a customer's sites."""
    return tuple(customer.sites.values_list("time_zone", flat=True))


def visible_orders(account: Account) -> QuerySet[WorkOrder]:
    """Return the orders an account may collect."""
    return _own(WorkOrder.objects.select_related("customer"), account, "customer")


def _own(rows: QuerySet[M], account: Account, customer: str) -> QuerySet[M]:
    if account.is_office:
        return rows
    if account.role == Role.CLIENT:
        return rows.filter(**{customer: account.customer_id})
    return rows.none()


def last_closed(repair: Repair, *, before: int) -> int:
    """Return the last attempt before another one that was closed, 0 where none was."""
    closed = Closing.objects.filter(repair=repair, attempt__lt=before)
    return int(closed.aggregate(last=Max("attempt"))["last"] or 0)


def open_nonconformances(repair: Repair, *, attempt: int) -> QuerySet[Nonconformance]:
    """Return the nonconformances that nobody decided on, or whose rework is to do.

    Those of the attempt, and of the attempts before it that never closed: rework is an attempt
    of its own, and what it was ordered for is still to be answered.
    """
    to_do = Q(disposition__in=TO_BE_DONE, done_at__isnull=True)
    last = last_closed(repair, before=attempt)
    return Nonconformance.objects.filter(
        Q(disposition="") | to_do,
        repair=repair,
        attempt__gt=last,
        attempt__lte=attempt,
        withdrawn_at__isnull=True,
    )


@dataclass(frozen=True, slots=True)
class StoreHealth:
    """What is known of the stored files by reading them back.

    Parameters
    ----------
    broken : int
        Files that were missing or changed when they were last read.
    oldest_check_age_s : float
        How long ago the one that has waited longest was read; 0 when none was yet.
    """

    broken: int
    oldest_check_age_s: float


def store_health(*, now: datetime) -> StoreHealth:
    """Return what the last reading back has shown."""
    oldest = FileCheck.objects.aggregate(at=Min("checked_at"))["at"]
    return StoreHealth(
        broken=FileCheck.objects.exclude(problem="").count(),
        oldest_check_age_s=0.0 if oldest is None else (now - oldest).total_seconds(),
    )
