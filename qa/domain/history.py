"""A history that shows when it was bent: each entry holds the digest of the one before it.

An entry names a fact (an event, a waiver, an answer, ...) and the digest of its content, so a
fact that was edited or deleted no longer fits its entry. A chain alone can be made anew from
any entry on; a signed checkpoint, of which others hold copies, cannot.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from repairs.domain.plain import stamp

FIRST = "0" * 64
"""What the first entry names as the one before it."""

EVERY_ENTRIES = 100
EVERY_S = 600
"""A checkpoint at least so often while facts come in: what is younger can still be bent."""

LATE_S = 86_400
"""A fact written down so long after its own time is told as late."""


@dataclass(frozen=True, slots=True)
class Fact:
    """Something that was stored: where, under which id, when by its own word, and its content."""

    source: str
    subject: str
    stated_at: datetime
    content: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Entry:
    """One link: `digest` covers everything else in it, and so all entries before."""

    number: int
    source: str
    subject: str
    content_sha256: str
    written_at: datetime
    previous: str
    digest: str


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """The head of the history after `entries` entries, signed by a key outside the database."""

    entries: int
    head: str
    made_at: datetime
    key_id: str
    signature: str


def canonical(content: object) -> bytes:
    """Return JSON that is the same bytes for the same values: keys sorted, no spaces, UTF-8.

    Raises
    ------
    ValueError, TypeError
        For what JSON cannot hold.
    """
    text = json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return text.encode()


def content_sha256(fact: Fact) -> str:
    """Return the digest of a fact: its place, its time and its content."""
    whole = [fact.source, fact.subject, stamp(fact.stated_at), fact.content]
    return hashlib.sha256(canonical(whole)).hexdigest()


def link(fact: Fact, *, number: int, previous: str, written_at: datetime) -> Entry:
    """Return the entry of a fact behind the one whose digest is `previous`."""
    entry = Entry(
        number, fact.source, fact.subject, content_sha256(fact), written_at, previous, digest=""
    )
    return replace(entry, digest=_digest(entry))


def checkpoint_bytes(entries: int, head: str, made_at: datetime) -> bytes:
    """Return what is signed for a checkpoint."""
    return canonical(["curewright history 1", entries, head, stamp(made_at)])


def wants_checkpoint(entries: int, at: datetime, last: Checkpoint | None) -> bool:
    """Return whether a checkpoint is due after so many entries at this time."""
    if last is None:
        return entries > 0
    new = entries - last.entries
    return new >= EVERY_ENTRIES or (new > 0 and (at - last.made_at).total_seconds() >= EVERY_S)


def chain_faults(entries: Iterable[Entry]) -> Iterator[str]:
    """Name each entry that does not follow from the one before it."""
    number, previous = 0, FIRST
    for each in entries:
        number += 1
        if each.number != number:
            yield f"entry {number}: missing; entry {each.number} stands in its place"
            number = each.number
        if each.previous != previous:
            yield f"entry {each.number}: does not follow the entry before it"
        if each.digest != _digest(each):
            yield f"entry {each.number}: was changed after it was written"
        previous = each.digest


def order_faults(entries: Iterable[Entry]) -> Iterator[str]:
    """Name each entry that says it was written before the one in front of it."""
    for before, after in pairwise(entries):
        if after.written_at < before.written_at:
            yield f"entry {after.number}: written before entry {before.number}, by its own word"


def checkpoint_faults(
    entries: Sequence[Entry],
    checkpoints: Iterable[Checkpoint],
    is_signed: Callable[[Checkpoint], bool],
) -> Iterator[str]:
    """Name each checkpoint that is not signed, or that the history no longer reaches."""
    digests = {each.number: each.digest for each in entries}
    for each in checkpoints:
        when = f"checkpoint of {stamp(each.made_at)} at entry {each.entries}"
        if not is_signed(each):
            yield f"{when}: its signature is not that of key {each.key_id}"
        elif each.entries not in digests:
            yield f"{when}: the history ends before it; entries were cut off"
        elif digests[each.entries] != each.head:
            yield f"{when}: the history up to it was written anew"


def fact_faults(entries: Iterable[Entry], facts: Iterable[Fact]) -> Iterator[str]:
    """Name each fact that is not what its entry says, is gone, or has no entry."""
    wanted = {(each.source, each.subject): each for each in entries}
    for fact in facts:
        entry = wanted.pop((fact.source, fact.subject), None)
        if entry is None:
            yield f"{fact.source} {fact.subject}: stands in no entry"
        elif content_sha256(fact) != entry.content_sha256:
            yield f"{fact.source} {fact.subject}: changed since entry {entry.number}"
        elif (entry.written_at - fact.stated_at).total_seconds() > LATE_S:
            yield (
                f"{fact.source} {fact.subject}: says {stamp(fact.stated_at)}, "
                f"but came into the history at {stamp(entry.written_at)}"
            )
    for entry in wanted.values():
        yield f"{entry.source} {entry.subject}: entry {entry.number} has it, the records do not"


def _digest(entry: Entry) -> str:
    """Return what an entry's digest should be."""
    whole = [
        "curewright entry 1",
        entry.number,
        entry.source,
        entry.subject,
        entry.content_sha256,
        stamp(entry.written_at),
        entry.previous,
    ]
    return hashlib.sha256(canonical(whole)).hexdigest()
