"""Tells the client's people that a package is ready, each with a link of their own.

Links and messages are written in the transaction that makes the package known; the sending is
due work of each message, under one id. A second attempt sends the same link again.
"""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction

from dispatch.channels.outgoing import Outgoing
from dispatch.domain.channel import Channel
from dispatch.models import Contact
from dispatch.selectors import clients_of
from dispatch.services.deliver import Sent, send_on
from duework.services import schedule
from qa.answers import answer_by
from qa.domain.ready_message import (
    SOURCE,
    ReadyCollection,
    ReadyMessage,
    ReadyRepair,
    data_of,
    kind_of,
    letter_of,
    subject_of,
)
from qa.models import CloseoutPackage, CollectedPackage, PackageLink, PackageMessage
from qa.services.share_package import LONGEST_H, address_of
from repairs.domain.roles import Role
from repairs.models import Customer

TELL_CLIENT = "tell-client"

ATTEMPTS = 450
"""Ten minutes apart, about three days: a mail server that is down over a long weekend loses no
message. Common practice, no source."""


@transaction.atomic
def tell_client(*, package: CloseoutPackage | CollectedPackage, now: datetime) -> None:
    """Write one link, message and piece of due work for each address of the client's people.

    What stands already is left alone. An address that is entered later is told of later
    packages; this one stands in the portal.
    """
    people = clients_of(_customer_of(package).pk)
    for contact in Contact.objects.filter(account__in=people).order_by("created_at", "pk"):
        key = f"{TELL_CLIENT}:{package.pk}:{contact.pk}"
        if not PackageMessage.objects.filter(key=key).exists():
            _write(package, contact, key, now)


def _write(
    package: CloseoutPackage | CollectedPackage, contact: Contact, key: str, now: datetime
) -> None:
    link = PackageLink.objects.create(
        package=package if isinstance(package, CloseoutPackage) else None,
        collected=package if isinstance(package, CollectedPackage) else None,
        sent_to=contact.account,
        made_at=now,
        expires_at=now + timedelta(hours=min(settings.CLIENT_LINK_H, LONGEST_H)),
    )
    message = PackageMessage.objects.create(key=key, link=link, contact=contact, created_at=now)
    schedule(
        kind=TELL_CLIENT,
        subject_type="package message",
        subject_id=message.pk,
        dedupe_key=key,
        due_at=now,
        useful_until=link.expires_at,
        max_attempts=ATTEMPTS,
    )


def send_message(*, message_id: str, now: datetime) -> Sent:
    """Send it outside any transaction; UndeliverableError when it was not taken.

    Not sent any more: what went out, a link that was called back, and to whom is not of that
    customer's people any more.
    """
    message = (
        PackageMessage.objects.select_related(
            "contact__account",
            "link__package__closing__repair__run__site",
            "link__package__closing__repair__work_order__customer",
            "link__package__closing__repair__work_order__requirement_set",
            "link__collected__customer",
        )
        .filter(pk=message_id, sent_at__isnull=True, link__called_back_at__isnull=True)
        .first()
    )
    if message is None:
        return Sent.NOT_NEEDED
    account, contact = message.contact.account, message.contact
    still = account.is_active and account.role == Role.CLIENT
    if not still or account.customer_id != _customer_of(message.link.leads_to).pk:
        return Sent.NOT_NEEDED
    ready = _ready(message.link)
    return send_on(
        Channel(contact.channel),
        Outgoing(
            id=message.key,
            address=contact.address,
            secret=contact.secret,
            subject=" ".join(subject_of(ready).split())[:120],
            words=letter_of(ready),
            data=data_of(ready),
            told_at=message.created_at,
            sent_at=now,
            kind=kind_of(ready),
            source=SOURCE,
        ),
    )


@transaction.atomic
def write_message_sent(*, message_id: str, now: datetime) -> None:
    """Keep when the channel took it."""
    PackageMessage.objects.filter(pk=message_id, sent_at__isnull=True).update(sent_at=now)


def _customer_of(package: CloseoutPackage | CollectedPackage) -> Customer:
    if isinstance(package, CollectedPackage):
        return package.customer
    return package.closing.repair.work_order.customer


def _ready(link: PackageLink) -> ReadyMessage:
    package = link.leads_to
    assert package.ready_at is not None  # noqa: S101 - nobody is told before
    if isinstance(package, CollectedPackage):
        of: ReadyRepair | ReadyCollection = ReadyCollection(
            of=str(package.members["of"]),
            packages=len(package.members["packages"]),
            not_closed=tuple(package.members["not_closed"]),
        )
        page, zone = f"{settings.PUBLIC_URL}/packages#collected", "UTC"
    else:
        of = _ready_repair(package)
        page = f"{settings.PUBLIC_URL}/packages/{package.pk}"
        zone = package.closing.repair.run.site.time_zone
    return ReadyMessage(
        of=of,
        id=str(package.pk),
        file_name=package.file_name,
        sha256=package.sha256,
        size_bytes=package.size_bytes or 0,
        ready_at=package.ready_at,
        link=address_of(link),
        link_ends_at=link.expires_at,
        page=page,
        contractor=settings.CONTRACTOR_NAME,
        zone=zone,
        invented=settings.INVENTED_DATA,
    )


def _ready_repair(package: CloseoutPackage) -> ReadyRepair:
    closing, repair = package.closing, package.closing.repair
    until = answer_by(package)
    assert until is not None  # noqa: S101 - it is ready
    return ReadyRepair(
        order=repair.work_order.number,
        ref=repair.ref,
        attempt=closing.attempt,
        run=repair.run.ref,
        street=repair.run.site.street,
        answer_by=until,
    )
