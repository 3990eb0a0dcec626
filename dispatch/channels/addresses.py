"""Judges an address when it is entered; where it leads is looked at each time it is used."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from dispatch.channels.safe_address import NotAllowedError, read_address
from dispatch.domain.channel import Channel


def address_fault(channel: Channel, address: str) -> str:
    """Return what would be right in place of an address; empty when it can be used."""
    if channel is Channel.EMAIL:
        try:
            validate_email(address)
        except ValidationError:
            return "an e-mail address"
        return "" if settings.EMAIL_HOST else "another channel: no mail server is set here"
    try:
        read_address(address, allow_private=settings.WEBHOOK_PRIVATE)
    except NotAllowedError as error:
        return f"an address such as https://gateway.example/told: {error}"
    return ""
