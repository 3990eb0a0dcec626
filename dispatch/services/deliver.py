"""Sends a message on its channel: at least once, under one id, nobody waiting for another."""

from datetime import datetime
from enum import Enum
from typing import Any

from django.conf import settings
from django.db import transaction

from dispatch.channels.outgoing import NoAnswerError, Outgoing
from dispatch.channels.registry import SEND
from dispatch.channels.resting import let_rest, place_of, rests
from dispatch.domain.channel import Channel
from dispatch.domain.reminder import Rung
from dispatch.models import Message


class Sent(Enum):
    """What became of an attempt that did not fail."""

    OUT = "it went out"
    NOT_NEEDED = "nobody needs it any more"
    LATER = "whoever takes it did not answer a moment ago"


def send(*, message_id: str, key: str, now: datetime) -> Sent:
    """Send it outside any transaction; UndeliverableError when it was not taken."""
    message = (
        Message.objects.select_related(
            "contact__account",
            "notice__repair__run__site",
            "notice__repair__work_order",
            "notice__crew",
        )
        .filter(pk=message_id, sent_at__isnull=True, contact__account__is_active=True)
        .first()
    )
    if message is None or not message.notice.open or not _still_theirs(message):
        return Sent.NOT_NEEDED
    return send_on(Channel(message.contact.channel), _outgoing(message, key, now))


def send_on(channel: Channel, outgoing: Outgoing) -> Sent:
    """Send on a channel, unless whoever takes it did not answer a moment ago.

    Raises
    ------
    UndeliverableError
        When it was not taken.
    """
    place = place_of(channel, outgoing.address)
    if rests(place):
        return Sent.LATER
    try:
        SEND[channel](outgoing)
    except NoAnswerError:
        let_rest(place)
        raise
    return Sent.OUT


@transaction.atomic
def write_sent(*, message_id: str, now: datetime) -> None:
    """Keep when the channel took it."""
    Message.objects.filter(pk=message_id, sent_at__isnull=True).update(sent_at=now)


def _still_theirs(message: Message) -> bool:
    """Return whether what concerns one customer still goes to that customer's people."""
    if message.to != Rung.CLIENT.value:
        return True
    repair = message.notice.repair
    return repair is not None and message.contact.account.customer_id == (
        repair.work_order.customer_id
    )


def _outgoing(message: Message, key: str, now: datetime) -> Outgoing:
    notice, contact = message.notice, message.contact
    ref = notice.repair.ref if notice.repair else ""
    street = notice.repair.run.site.street if notice.repair else ""
    to_client = message.to == Rung.CLIENT.value
    # Who works for the contractor is nothing a client is told; it settles a notice by its answer.
    crew = notice.crew.name if notice.crew and not to_client else ""
    place = ", ".join(word for word in (ref, street, crew) if word)
    data: dict[str, Any] = {
        "notice": str(notice.pk),
        "code": notice.code,
        "item": notice.item,
        "words": notice.words,
        "repair": ref,
        "street": street,
        "to": message.to,
    }
    end = ""
    if not to_client:
        end = f"\nAcknowledge it: {settings.PUBLIC_URL}/\n"
        data |= {
            "crew": crew,
            "resin_is_live": notice.live,
            "acknowledge": f"{settings.PUBLIC_URL}/api/v1/notices/{notice.pk}/acknowledge",
        }
    return Outgoing(
        id=key,
        address=contact.address,
        secret=contact.secret,
        subject=" ".join(f"{place}: {notice.words}".split())[:120],
        words=f"{place}\n\n{notice.words}\n{end}",
        data=data,
        told_at=message.created_at,
        sent_at=now,
    )
