"""Remembers who did not answer, so that a dead gateway costs one time-out, not one a message.

The memory is the process's own and short: losing it costs a time-out.
"""

import time
from urllib.parse import urlsplit

from dispatch.domain.channel import Channel

REST_S = 30
"""How long nothing is sent to whoever did not answer. Common practice, no source."""

_rests_until: dict[str, float] = {}


def place_of(channel: Channel, address: str) -> str:
    """Return what answers or does not: the mail server, or the host and port of a webhook."""
    return channel.value if channel is Channel.EMAIL else urlsplit(address).netloc


def rests(place: str) -> bool:
    """Return whether it did not answer a moment ago."""
    return time.monotonic() < _rests_until.get(place, 0.0)


def let_rest(place: str) -> None:
    """Send nothing there for a while."""
    _rests_until[place] = time.monotonic() + REST_S


def forget() -> None:
    """Ask everybody again."""
    _rests_until.clear()
