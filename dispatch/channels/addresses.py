"""Judges an address when it is entered; where a name leads is looked at each time it is used."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from dispatch.channels.safe_address import NotAllowedError, read_address
from dispatch.domain.channel import Channel
from repairs.domain.problem import Fault, shown


def address_fault(channel: Channel, address: str) -> Fault | None:
    """Return which of the two is wrong, and what would be right; None when it can be used."""
    if channel is Channel.EMAIL:
        if not settings.EMAIL_HOST:
            return Fault("channel", repr(channel.value), "webhook: no mail server is set here")
        try:
            validate_email(address)
        except ValidationError:
            return Fault("address", shown(address), "an e-mail address")
        return None
    try:
        read_address(address, allow_private=settings.WEBHOOK_PRIVATE)
    except NotAllowedError as error:
        expected = f"an address such as https://gateway.example/told: {error}"
        return Fault("address", shown(address), expected)
    return None
