"""Collects the packages of an order or a month into one, for whoever keeps many."""

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet

from duework.domain.work import Lease
from duework.selectors import progress_percent
from duework.services import schedule
from qa.closeout.bag import WrittenBag, write_contents
from qa.closeout.collection import contents
from qa.domain.collection import Collection, Member
from qa.domain.manifest import safe_name
from qa.domain.months import month_at
from qa.handover.package_facts import closeout_facts
from qa.models import CloseoutPackage, CollectedPackage
from qa.sealed_files import keep, package_path
from qa.services.seal_package import seal_of
from qa.services.tell_client import tell_client
from repairs.domain.natural import natural
from repairs.domain.problem import Refused
from repairs.models import Account, Customer, Repair, WorkOrder

BUILD_COLLECTION = "build-collection"
_DONE, _ALMOST = 100, 99


@transaction.atomic
def collect_order(*, work_order: WorkOrder, by: Account, now: datetime) -> CollectedPackage:
    """Order one package of all closed repairs of a work order."""
    ready = _ready().filter(closing__repair__work_order=work_order)
    # One that was returned, or is done again, is open though an earlier attempt has its package.
    newest = ready.filter(closing__attempt=F("closing__repair__attempt"))
    closed = set(newest.values_list("closing__repair_id", flat=True))
    repairs = Repair.objects.filter(work_order=work_order).exclude(pk__in=closed)
    open_ones = sorted(repairs.values_list("ref", flat=True), key=natural)
    row = CollectedPackage(
        customer=work_order.customer, work_order=work_order, requested_by=by, requested_at=now
    )
    return _order(row, work_order.number, list(ready), open_ones)


@transaction.atomic
def collect_month(
    *, customer: Customer, month: date, by: Account, now: datetime
) -> CollectedPackage:
    """Order one package of everything closed for a customer in a month, by each site's calendar."""
    first = month.replace(day=1)
    ready = _ready().filter(closing__repair__work_order__customer=customer)
    rows = [each for each in ready if _month_of(each) == first]
    row = CollectedPackage(customer=customer, month=first, requested_by=by, requested_at=now)
    return _order(row, f"{first:%Y-%m}", rows, [])


def collecting_percent(package: CollectedPackage) -> int:
    """Return how far the building has come."""
    if package.ready_at is not None:
        return _DONE
    return progress_percent(dedupe_key=f"{BUILD_COLLECTION}:{package.pk}")


def build_collection(*, package_id: UUID | str, lease: Lease, now: datetime) -> WrittenBag:
    """Write the zip to its place; slow, so outside any transaction, renewing the lease."""
    package = CollectedPackage.objects.select_related("customer", "work_order").get(pk=package_id)
    seal = seal_of(package, now=now)
    head = f"entry {seal.checkpoint.entries}: {seal.checkpoint.head}"
    collection, files = _collection(package, head, lease)
    target = package_path(package.storage_key)
    target.parent.mkdir(parents=True, exist_ok=True)
    whole = sum(each.size_bytes for each in collection.members) or 1
    bag = write_contents(
        target,
        contents(collection, files, seal),
        progress=lambda done: lease.report(min(_ALMOST, 100 * done // whole)),
        seal=seal,
    )
    keep(package.storage_key)
    return bag


@transaction.atomic
def publish_collection(*, package_id: UUID | str, bag: WrittenBag, now: datetime) -> None:
    """Make the finished package known, and tell the client's people, whole or not at all."""
    rows = CollectedPackage.objects.filter(pk=package_id, ready_at__isnull=True)
    if rows.update(ready_at=now, sha256=bag.sha256, size_bytes=bag.size):
        package = CollectedPackage.objects.select_related("customer")
        tell_client(package=package.get(pk=package_id), now=now)


def _ready() -> QuerySet[CloseoutPackage]:
    return (
        CloseoutPackage.objects.filter(ready_at__isnull=False)
        .select_related("closing__repair__run__site", "client_answer")
        .order_by("closing__closed_at", "pk")
    )


def _month_of(row: CloseoutPackage) -> date:
    return month_at(row.closing.closed_at, row.closing.repair.run.site.time_zone)


def _order(
    row: CollectedPackage, of: str, packages: Sequence[CloseoutPackage], open_ones: list[str]
) -> CollectedPackage:
    if not packages:
        raise Refused("nothing_to_collect", f"{of}: no repair of it has a finished package yet.")
    answers = {each.pk: getattr(each, "client_answer", None) for each in packages}
    row.members = {
        "packages": [
            {"id": str(each.pk), "answer": found.answer if (found := answers[each.pk]) else ""}
            for each in packages
        ],
        "not_closed": open_ones,
        "of": of,
    }
    row.file_name = f"{safe_name(f'{row.customer.code}-{of}-packages')}.zip"
    row.save(force_insert=True)
    schedule(
        kind=BUILD_COLLECTION,
        subject_type="collection",
        subject_id=row.pk,
        dedupe_key=f"{BUILD_COLLECTION}:{row.pk}",
        due_at=row.requested_at,
    )
    return row


def _collection(
    package: CollectedPackage, head: str, lease: Lease
) -> tuple[Collection, dict[str, Path]]:
    answers = {each["id"]: each["answer"] for each in package.members["packages"]}
    rows = CloseoutPackage.objects.filter(pk__in=answers).select_related(
        "closing__closed_by",
        "closing__repair__work_order__customer",
        "closing__repair__work_order__requirement_set",
        "closing__repair__run__site",
        "closing__repair__run__upstream",
        "closing__repair__run__downstream",
        "closing__repair__datum",
        "client_answer",
    )
    members, files = [], {}
    for row in rows.order_by("closing__closed_at", "pk"):
        lease.check()
        files[str(row.pk)] = package_path(row.storage_key)
        members.append(
            Member(
                closeout_facts(row.closing),
                str(row.pk),
                row.file_name,
                row.sha256,
                row.size_bytes or 0,
                answer := answers[str(row.pk)],
                # The first answer stands: what was said when it was collected was said then.
                row.client_answer.answered_at if answer else None,
            )
        )
    found = Collection(
        id=str(package.pk),
        of=package.members["of"],
        customer_name=package.customer.name,
        customer_code=package.customer.code,
        contractor_name=settings.CONTRACTOR_NAME,
        members=tuple(members),
        not_closed=tuple(package.members["not_closed"]),
        collected_at=package.requested_at,
        invented=settings.INVENTED_DATA,
        history_head=head,
        month=package.month is not None,
    )
    return found, files
