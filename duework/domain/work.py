"""What a handler is given and what it may answer: plain values, no database."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

PayloadValue = str | int | None | list[str] | list[int]
"""Ids and small marks; never the facts themselves, which are read again when the work is done."""

Payload = Mapping[str, PayloadValue]


@dataclass(frozen=True)
class Item:
    """One claimed piece of work, as its handler sees it.

    Parameters
    ----------
    id : UUID
        The row's key; good for naming temporary files.
    kind : str
        Which handler does it.
    subject_type, subject_id : str
        What it is about, such as ``"repair"`` and its id.
    dedupe_key : str
        The same for every attempt: also the idempotency key towards the outside.
    payload : Payload
        Ids given by whoever scheduled it.
    due_at : datetime
        When this attempt was due (aware, UTC).
    attempts : int
        Attempts so far, this one included (>= 1).
    lease_token : UUID
        The fence: only the holder of the newest token may finish.
    max_attempts : int
        After this many it is given up.
    wanted_at : datetime or None
        When it was asked for; `due_at` moves with the back-off, this does not.
    """

    id: UUID
    kind: str
    subject_type: str
    subject_id: str
    dedupe_key: str
    payload: Payload
    due_at: datetime
    attempts: int
    lease_token: UUID
    max_attempts: int = 8
    wanted_at: datetime | None = None


@dataclass(frozen=True)
class Context:
    """What surrounds a handler's call.

    Parameters
    ----------
    now : datetime
        The one instant of this attempt (aware, UTC).
    prepared : Any
        What the handler's ``prepare`` returned, or None when it has none.
    """

    now: datetime
    prepared: Any = field(default=None)


@dataclass(frozen=True)
class Done:
    """The work is done, or turned out not to be needed any more."""


@dataclass(frozen=True)
class Again:
    """The work is not ripe yet: call again at `due_at`. Not a failure, so attempts start afresh.

    Parameters
    ----------
    due_at : datetime
        Aware, UTC. A moment that is not later than now + 1 s becomes now + 1 s,
        so that a handler cannot spin.

    Raises
    ------
    ValueError
        When `due_at` carries no zone.
    """

    due_at: datetime

    def __post_init__(self) -> None:
        """Refuse a naive time at once, where the mistake was made."""
        if self.due_at.tzinfo is None:
            raise ValueError("Again.due_at has no zone; times are aware UTC.")


Outcome = Done | Again


class LeaseLostError(Exception):
    """Another runner took the work over; stop, and leave nothing visible behind."""


class Lease(Protocol):
    """The right to do one piece of slow work, renewed in the background while it runs."""

    def check(self) -> None:
        """Raise LeaseLostError when another runner took over."""

    def report(self, percent: int) -> None:
        """Store how far the work is (0 to 100); raise LeaseLostError when another took over."""
