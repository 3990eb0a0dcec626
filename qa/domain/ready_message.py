"""What the client is told when a package is ready: a letter for people, fields for programs."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from qa.domain.site_clock import on_site_clock

KIND, COLLECTED_KIND = "curewright.package.ready", "curewright.collection.ready"
SOURCE = "/curewright/packages"


@dataclass(frozen=True, slots=True)
class ReadyRepair:
    """Which repair a closeout package is of, and until when its answer is expected."""

    order: str
    ref: str
    attempt: int
    run: str
    street: str
    answer_by: datetime


@dataclass(frozen=True, slots=True)
class ReadyCollection:
    """What a collected package holds: of an order or month, with the repairs left out."""

    of: str
    packages: int
    not_closed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadyMessage:
    """A finished package with the link that leads to it.

    Parameters
    ----------
    sha256, size_bytes : str, int
        Of the zip, so that whoever fetched it can compare.
    link, link_ends_at : str, datetime
        The address that needs no account, and until when it holds.
    page : str
        Where it stands in the portal.
    zone : str
        On whose clock the letter says times.
    invented : bool
        The whole service shows invented data.
    """

    of: ReadyRepair | ReadyCollection
    id: str
    file_name: str
    sha256: str
    size_bytes: int
    ready_at: datetime
    link: str
    link_ends_at: datetime
    page: str
    contractor: str
    zone: str
    invented: bool = False


def subject_of(message: ReadyMessage) -> str:
    """Return one line that says which package it is."""
    of = message.of
    if isinstance(of, ReadyCollection):
        return f"{of.of}: the collected package is ready"
    return f"{of.order}, {of.ref}: the closeout package is ready"


def letter_of(message: ReadyMessage) -> str:
    """Return all of it as plain text."""
    return "\n".join(_lines(message)) + "\n"


def data_of(message: ReadyMessage) -> dict[str, Any]:
    """Return the same as fields, ready for JSON; instants carry their distance from UTC."""
    return {
        "id": message.id,
        **_which(message.of),
        "file_name": message.file_name,
        "sha256": message.sha256,
        "size_bytes": message.size_bytes,
        "ready_at": message.ready_at.isoformat(),
        "link": message.link,
        "link_ends_at": message.link_ends_at.isoformat(),
        "page": message.page,
    }


def kind_of(message: ReadyMessage) -> str:
    """Return what happened, as CloudEvents name it."""
    return COLLECTED_KIND if isinstance(message.of, ReadyCollection) else KIND


def _which(of: ReadyRepair | ReadyCollection) -> dict[str, Any]:
    if isinstance(of, ReadyCollection):
        return {"of": of.of, "packages": of.packages, "not_closed": list(of.not_closed)}
    return {
        "work_order": of.order,
        "repair": of.ref,
        "attempt": of.attempt,
        "run": of.run,
        "street": of.street,
        "answer_by": of.answer_by.isoformat(),
    }


def _lines(message: ReadyMessage) -> Iterator[str]:
    of = message.of
    if isinstance(of, ReadyCollection):
        yield f"The collected package of {of.of} is ready, from {message.contractor}."
    else:
        yield f"The closeout package of repair {of.ref} is ready, from {message.contractor}."
    if message.invented:
        yield "It shows invented data: no such pipe, person, company or repair exists."
    yield ""
    yield from _about(of)
    yield f"File     {message.file_name}"
    yield f"Size     {message.size_bytes} bytes"
    yield f"SHA-256  {message.sha256}"
    yield ""
    yield f"Fetch it, without signing in, until {_at(message.link_ends_at, message)}:"
    yield message.link
    yield "Whoever has this address can fetch the package, nothing else."
    yield ""
    yield "Look at it, answer it, or call the address back, signed in:"
    yield message.page
    yield ""
    yield "Check it: the SHA-256 of the file you fetched must be the one above (sha256sum FILE;"
    yield "on Windows certutil -hashfile FILE SHA256). Then unpack it and run"
    yield "python3 KEPT/verify_package.py FOLDER --key ID"
    yield "with the key's id that you were told apart from this message. Python 3.8 or later is all"
    yield "it needs. Use a copy of the program kept from elsewhere, of an earlier package or from"
    yield "/verify_package.py of our service: a forger can change the one inside."
    if isinstance(of, ReadyRepair):
        yield ""
        yield f"Your answer is expected by {_at(of.answer_by, message)}: accept the package, or"
        yield "return it with reasons, on its page."


def _about(of: ReadyRepair | ReadyCollection) -> Iterator[str]:
    if isinstance(of, ReadyCollection):
        yield f"Holds    {of.packages} package{'' if of.packages == 1 else 's'}"
        if of.not_closed:
            yield f"Not yet  {', '.join(of.not_closed)} (not closed, so not in it)"
        return
    yield f"Order    {of.order}"
    yield f"Repair   {of.ref}, attempt {of.attempt}"
    yield f"Run      {of.run}, {of.street}"


def _at(at: datetime, message: ReadyMessage) -> str:
    return on_site_clock(at, message.zone)
