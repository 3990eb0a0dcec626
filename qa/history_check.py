"""Reads the history back and says what does not fit; writes nothing."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection
from django.utils import timezone

from qa import signing
from qa.domain.history import (
    Checkpoint,
    Entry,
    Fact,
    chain_faults,
    checkpoint_bytes,
    checkpoint_faults,
    fact_faults,
    order_faults,
)
from qa.editions_check import edition_faults
from qa.history_sources import all_facts
from qa.history_triggers import missing
from qa.models import HistoryCheckpoint, HistoryEntry, SigningKey

GRACE = timedelta(minutes=10)
"""A fact of the last minutes may still wait for its entry."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A checkpoint that somebody outside kept, and the public key it was signed with."""

    told_by: str
    checkpoint: Checkpoint
    public_hex: str


@dataclass(frozen=True, slots=True)
class Found:
    """What was checked, and each fault in words."""

    entries: int
    checkpoints: int
    signed: int
    waiting: int
    faults: tuple[str, ...]


def history_faults(anchors: Sequence[Anchor] = (), now: datetime | None = None) -> Found:
    """Check chain, checkpoints, records, triggers, and what others kept."""
    entries = [_entry(row) for row in HistoryEntry.objects.order_by("number").iterator()]
    checkpoints = [_checkpoint(row) for row in HistoryCheckpoint.objects.order_by("made_at")]
    known = {(each.source, each.subject) for each in entries}
    young = (now or timezone.now()) - GRACE
    waiting: list[Fact] = []
    facts = _without_waiting(known, young, waiting)
    faults = [
        *chain_faults(entries),
        *order_faults(entries),
        *checkpoint_faults(entries, checkpoints, _signed_by_a_known_key()),
        *_anchor_faults(entries, anchors),
        *fact_faults(entries, facts),
        *edition_faults(),
        *(f"trigger {name}: it is gone, or does something else" for name in missing(connection)),
    ]
    signed = max((each.entries for each in checkpoints), default=0)
    return Found(len(entries), len(checkpoints), signed, len(waiting), tuple(faults))


def read_anchor(signature: Mapping[str, object], told_by: str) -> Anchor:
    """Return the head of the history out of a package's signature.json.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is not such a file.
    """
    history = signature["history"]
    if not isinstance(history, Mapping):
        raise TypeError("'history' is not an object")
    return Anchor(
        told_by,
        Checkpoint(
            int(history["entries"]),
            str(history["head"]),
            datetime.fromisoformat(str(history["made_at"])),
            str(signature["key_id"]),
            str(history["signature"]),
        ),
        str(signature["public_key"]),
    )


def _without_waiting(
    known: set[tuple[str, str]], young: datetime, waiting: list[Fact]
) -> Iterator[Fact]:
    """Yield the facts but those too young to have an entry, which are put aside."""
    for fact in all_facts():
        if fact.stated_at > young and (fact.source, fact.subject) not in known:
            waiting.append(fact)
        else:
            yield fact


def _signed_by_a_known_key() -> Callable[[Checkpoint], bool]:
    public = dict(SigningKey.objects.values_list("key_id", "public_hex"))

    def check(each: Checkpoint) -> bool:
        key = public.get(each.key_id)
        return key is not None and signing.key_id(key) == each.key_id and _is_signed(each, key)

    return check


def _anchor_faults(entries: Sequence[Entry], anchors: Sequence[Anchor]) -> Iterator[str]:
    for each in anchors:

        def check(found: Checkpoint, key: str = each.public_hex) -> bool:
            return _is_signed(found, key)

        faults = checkpoint_faults(entries, [each.checkpoint], check)
        yield from (f"{each.told_by}: {fault}" for fault in faults)


def _is_signed(each: Checkpoint, public_hex: str) -> bool:
    message = checkpoint_bytes(each.entries, each.head, each.made_at)
    return signing.is_signed(message, each.signature, public_hex)


def _entry(row: HistoryEntry) -> Entry:
    return Entry(
        row.number,
        row.source,
        str(row.subject),
        row.content_sha256,
        row.written_at,
        row.previous,
        row.digest,
    )


def _checkpoint(row: HistoryCheckpoint) -> Checkpoint:
    return Checkpoint(row.entries, row.head, row.made_at, row.key_id, row.signature)
