"""Reads of keeping: how long each package is kept, and what holds it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from dispatch.domain.terms import terms_from
from qa.domain.retention import Kept, kept
from qa.models import ClientAnswer, CloseoutPackage, LegalHold
from repairs.domain.roles import Role
from repairs.models import Account


@dataclass(frozen=True, slots=True)
class KeptPackage:
    """A package and how long it is kept."""

    package: CloseoutPackage
    kept: Kept


def kept_of(package: CloseoutPackage) -> Kept:
    """Return how long a package is kept."""
    order = package.closing.repair.work_order
    answer = ClientAnswer.objects.filter(package=package, answer=ClientAnswer.ACCEPTED).first()
    zone = ZoneInfo(package.closing.repair.run.site.time_zone)
    accepted: date | None = None
    if answer is not None:
        accepted = answer.answered_at.astimezone(zone).date()
    holds = LegalHold.objects.filter(work_order=order, lifted_at__isnull=True)
    reasons = tuple(holds.order_by("set_at").values_list("reason", flat=True))
    return kept(accepted, terms_from(order.requirement_set.terms), reasons)


def kept_for(account: Account, package: CloseoutPackage) -> Kept:
    """Return how long a package is kept, as this account may read it."""
    found = kept_of(package)
    return found.for_the_client if account.role == Role.CLIENT else found


def may_be_disposed_of(today: date) -> Iterator[KeptPackage]:
    """Yield the packages whose time is over and that nobody holds, the oldest first."""
    rows = CloseoutPackage.objects.filter(
        ready_at__isnull=False, client_answer__answer=ClientAnswer.ACCEPTED
    ).select_related(
        "closing__repair__work_order__requirement_set",
        "closing__repair__work_order__customer",
        "closing__repair__run__site",
    )
    for row in rows.order_by("client_answer__answered_at", "pk").iterator():
        found = kept_of(row)
        if found.may_go(today):
            yield KeptPackage(row, found)
