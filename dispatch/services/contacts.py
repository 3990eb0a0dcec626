"""Keeps where somebody is told beside the inbox."""

import secrets

from django.db import IntegrityError, transaction

from dispatch.channels.addresses import address_fault
from dispatch.domain.channel import Channel
from dispatch.domain.webhook_signature import SECRET_BYTES, secret_from
from dispatch.models import Contact
from repairs.domain.problem import Refused, malformed
from repairs.models import Account

MOST_CONTACTS = 20
"""Addresses of an account: each gets every message. Common practice, no source."""


def add_contact(*, account: Account, channel: Channel, address: str) -> Contact:
    """Add an address; that of a webhook gets a secret, to be shown to whoever has just made it.

    Raises
    ------
    Refused
        If nothing can be sent there, it is there already, or there are too many.
    """
    if fault := address_fault(channel, address):
        raise malformed(fault)
    if Contact.objects.filter(account=account).count() >= MOST_CONTACTS:
        words = f"There are {MOST_CONTACTS} addresses already; take one away."
        raise Refused("too_many_addresses", words)
    random = secrets.token_bytes(SECRET_BYTES)
    secret = secret_from(random) if channel is Channel.WEBHOOK else ""
    try:
        with transaction.atomic():
            return Contact.objects.create(
                account=account, channel=channel.value, address=address, secret=secret
            )
    except IntegrityError as error:
        raise Refused("already_there", "This address is there already.") from error
