"""What a channel is given to send."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


class UndeliverableError(Exception):
    """The channel did not take it; it is tried again later under the same id."""


class NoAnswerError(UndeliverableError):
    """Nobody answered in time: the next message there would wait as long."""


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One message to one address.

    Parameters
    ----------
    id : str
        The same for every attempt, so that a receiver can drop a repeat.
    address, secret : str
        Where to, and what signs it (webhooks only).
    subject : str
        One line.
    words : str
        All of it, for people.
    data : mapping
        The same for programs, ready for JSON.
    told_at, sent_at : datetime
        When the rung was told, and the present.
    kind, source : str
        What happened and where it is known, as CloudEvents name them.
    """

    id: str
    address: str
    secret: str
    subject: str
    words: str
    data: Mapping[str, Any]
    told_at: datetime
    sent_at: datetime
    kind: str = "curewright.notice.told"
    source: str = "/curewright/notices"
