"""Builds the closeout package and publishes it, whole or not at all."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from duework.domain.work import Lease
from qa.closeout.bag import WrittenBag, write_bag
from qa.handover.package_facts import closeout_facts, files_of, pictures_of
from qa.models import CloseoutPackage, Closing
from qa.sealed_files import keep, package_path
from qa.services.seal_package import seal_of
from qa.services.tell_client import tell_client

_ALMOST_DONE = 99


def build(*, package_id: UUID | str, lease: Lease, now: datetime) -> WrittenBag:
    """Write the zip to its place; slow, so outside any transaction, renewing the lease.

    The bytes depend on the closing and on the checkpoint chosen first, so a second build
    after a crash gives the same file again.
    """
    package = CloseoutPackage.objects.select_related("closing").get(pk=package_id)
    closing = (
        Closing.objects.select_related(
            "closed_by",
            "repair__work_order__customer",
            "repair__work_order__requirement_set",
            "repair__run__site",
            "repair__run__upstream",
            "repair__run__downstream",
            "repair__datum",
        )
    ).get(pk=package.closing_id)
    seal = seal_of(package, now=now)
    facts, files = closeout_facts(closing, seal.checkpoint), files_of(closing)
    target = package_path(package.storage_key)
    target.parent.mkdir(parents=True, exist_ok=True)
    whole = sum(each.size_bytes for each in facts.evidence) or 1
    bag = write_bag(
        target,
        facts,
        files,
        progress=lambda done: lease.report(min(_ALMOST_DONE, 100 * done // whole)),
        pictures=pictures_of(closing),
        seal=seal,
    )
    keep(package.storage_key)
    return bag


@transaction.atomic
def publish(*, package_id: UUID | str, bag: WrittenBag, now: datetime) -> None:
    """Make the finished package known, and tell the client's people, whole or not at all.

    The client may fetch it from now on. A second time nothing happens: it is known already.
    """
    rows = CloseoutPackage.objects.filter(pk=package_id, ready_at__isnull=True)
    if rows.update(ready_at=now, sha256=bag.sha256, size_bytes=bag.size):
        package = CloseoutPackage.objects.select_related("closing__repair__work_order__customer")
        tell_client(package=package.get(pk=package_id), now=now)
