"""Where did a lot go, and what is in a repair: what a recall and an owner ask.

Every mixing that counts is a use, of every attempt: a sleeve of an attempt that was given up may
still lie in the pipe. A correction moves the use to the lot it names.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import datetime

from qa.domain.spreadsheet_text import inert
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.natural import natural
from repairs.domain.progress import Progress, sleeve_of

LOTS = ("kit_lot", "lot_a", "lot_b")


@dataclass(frozen=True, slots=True)
class Used:
    """One mixing: which lots went into which sleeve, when, and where it then lay.

    `mixed_at` is the best estimate of the true time, as the pages and the report have it.
    """

    attempt: int
    sleeve: int
    kit_lot: str
    lot_a: str
    lot_b: str
    mixed_at: datetime
    placed_at_m: float | None
    withdrawn: bool
    thrown_away: bool


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One line of a recall list: all that the letter to an owner needs.

    `mixed_at` is UTC; `mixed_at_site` is the same instant on the clock of the site.
    """

    customer: str
    customer_email: str
    site: str
    street: str
    run: str
    repair: str
    work_order: str
    attempt: int
    sleeve: int
    datum: str
    distance_m: str
    distance_ft: str
    kit_lot: str
    lot_a: str
    lot_b: str
    mixed_at: str
    mixed_at_site: str
    crew: str
    state: str
    package: str
    package_sha256: str


def uses_in(progress: Progress) -> tuple[Used, ...]:
    """Return every batch that was mixed in one attempt, in order."""
    mixings = progress.all_of(EventKind.MIXING_STARTED)
    return tuple(
        _used(progress, mixing, later=mixings[number + 1 :])
        for number, mixing in enumerate(mixings)
    )


def with_number(uses: Iterable[Used], number: str) -> tuple[Used, ...]:
    """Return the uses of a lot, of kits or of either part of the resin; case does not count."""
    asked = number.casefold()
    return tuple(
        each
        for each in uses
        if asked in (named.casefold() for named in (each.kit_lot, each.lot_a, each.lot_b))
    )


def recall_csv(lines: Sequence[LetterLine]) -> bytes:
    """Write the recall list (RFC 4180), an owner's lines together."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([each.name for each in fields(LetterLine)])
    for line in sorted(lines, key=_by_owner):
        writer.writerow([inert(str(value)) for value in astuple(line)])
    return text.getvalue().encode()


def _by_owner(line: LetterLine) -> tuple[object, ...]:
    return line.customer, natural(line.run), natural(line.repair), line.attempt


def _used(progress: Progress, mixing: Event, later: Sequence[Event]) -> Used:
    number = sleeve_of(mixing)
    again = next((each for each in later if sleeve_of(each) == number), None)
    placed = _first_after(progress, EventKind.PLACED, number, mixing, again)
    withdrawn = _first_after(progress, EventKind.WITHDRAWN, number, mixing, again)
    distance = placed.data.get("distance_m") if placed is not None else None
    return Used(
        attempt=progress.attempt,
        sleeve=number,
        kit_lot=str(mixing.data.get("kit_lot", "")),
        lot_a=str(mixing.data.get("lot_a", "")),
        lot_b=str(mixing.data.get("lot_b", "")),
        mixed_at=moment_of(mixing).best,
        placed_at_m=None if distance is None else float(distance),
        withdrawn=withdrawn is not None,
        thrown_away=again is not None and again.data.get("new_batch") is True and placed is None,
    )


def _first_after(
    progress: Progress, kind: EventKind, sleeve: int, mixing: Event, again: Event | None
) -> Event | None:
    """Return the first step of a sleeve between its mixing and the next one."""
    order = {event.id: place for place, event in enumerate(progress.steps)}
    last = order[again.id] if again is not None else len(order)
    for event in progress.all_of(kind):
        if sleeve_of(event) == sleeve and order[mixing.id] < order[event.id] < last:
            return event
    return None
