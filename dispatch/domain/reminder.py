"""What a reminder is: a row of a table that asks the facts, and what it asks to be told."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Generic, TypeVar

Facts = TypeVar("Facts")

ONE_MINUTE = timedelta(minutes=1)


class Rung(StrEnum):
    """Who is told: from the street upwards, and beside that ladder who is told alone.

    `OFFICE` are those who plan and those who review; `CLIENT` are the people of the customer
    whose repair it is. What they are told climbs no further.
    """

    CREW_LEAD = "crew lead"
    DISPATCHER = "dispatcher"
    ON_CALL = "on call"
    OFFICE = "office"
    CLIENT = "client"


@dataclass(frozen=True, slots=True)
class Reminder:
    """Something to tell at a time, unless the facts change first.

    Parameters
    ----------
    about : datetime
        The instant it speaks of: the same code about the same instant is told once.
    to : Rung
        Who is told first.
    live : bool
        Resin is live: quiet hours do not delay it.
    on_site : bool
        Its crew is at work in the street: quiet hours do not delay what that crew is told.
    item : str
        Which of several things it is about, such as one lot of a truck.
    """

    code: str
    due_at: datetime
    useful_until: datetime
    words: str
    about: datetime
    to: Rung = Rung.CREW_LEAD
    live: bool = False
    item: str = ""
    on_site: bool = False


@dataclass(frozen=True, slots=True)
class Found:
    """What a row found in the facts.

    `about` is `due_at` where it is not given; `given` fills the row's words.
    """

    due_at: datetime
    useful_until: datetime
    about: datetime | None = None
    item: str = ""
    given: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Row(Generic[Facts]):
    """One reminder of a table.

    Parameters
    ----------
    condition, lead, useful : str
        In words, for people: when it is told, how long ahead, and until when it is of use.
    find : callable
        Returns what the facts ask for at an instant; nothing when all is well.
    words : str
        What is said, with names from `Found.given` in braces.
    """

    code: str
    condition: str
    lead: str
    useful: str
    to: Rung
    live: bool
    find: Callable[[Facts, datetime], Iterable[Found]]
    words: str
    on_site: bool = False


def ask(table: Iterable[Row[Facts]], facts: Facts, now: datetime) -> tuple[Reminder, ...]:
    """Return what a table asks to be told, in the order it is due.

    A clock moves by seconds with each reading. Due and about stand on a full
    minute, so that the same reminder is not written again for seconds. All times are UTC.
    """
    return tuple(
        sorted(
            (_reminder(row, found) for row in table for found in row.find(facts, now)),
            key=lambda each: each.due_at,
        )
    )


def _reminder(row: Row[Facts], found: Found) -> Reminder:
    due = full_minute(found.due_at.astimezone(UTC))
    return Reminder(
        code=row.code,
        due_at=due,
        useful_until=max(found.useful_until.astimezone(UTC), due + ONE_MINUTE),
        words=row.words.format(**found.given),
        about=due if found.about is None else full_minute(found.about.astimezone(UTC)),
        to=row.to,
        live=row.live,
        item=found.item,
        on_site=row.on_site,
    )


def full_minute(at: datetime) -> datetime:
    """Return the instant, or the next full minute after it."""
    cut = this_minute(at)
    return cut if cut == at else cut + ONE_MINUTE


def this_minute(at: datetime) -> datetime:
    """Return the full minute an instant lies in."""
    return at.replace(second=0, microsecond=0)
