"""Brings what was stored into the history, and signs its head."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction

from duework.services import keep_going
from qa import signing
from qa.domain.history import (
    EVERY_ENTRIES,
    FIRST,
    Checkpoint,
    Entry,
    Fact,
    checkpoint_bytes,
    link,
    wants_checkpoint,
)
from qa.history_sources import new_facts
from qa.models import HistoryCheckpoint, HistoryEntry, HistoryHead, SigningKey

WRITE_HISTORY = "write-history"
AGAIN_AFTER_S = 60
"""How long a fact may wait for its entry; a package does not wait for it."""
LOOK_BACK = timedelta(days=2)
"""How far behind the last checkpoint new facts are looked for. Their times are this server's own;
`verify_history` looks at all of them."""


def begin_history(*, now: datetime) -> None:
    """Have facts brought into the history from now on, if that is not under way already."""
    keep_going(
        kind=WRITE_HISTORY,
        subject_type="history",
        subject_id="all",
        dedupe_key=WRITE_HISTORY,
        due_at=now,
    )


@transaction.atomic
def write_history(*, now: datetime, checkpoint: bool = False, everything: bool = False) -> int:
    """Append an entry for each new fact, sign the head when due, and return how many came in.

    Parameters
    ----------
    checkpoint : bool
        Sign the head now, unless it is signed already.
    everything : bool
        Look for facts of all times, not only for those of the last days.
    """
    HistoryHead.objects.get_or_create(pk=HistoryHead.ONLY, defaults={"digest": FIRST})
    # One writer at a time: the chain has one end.
    head = HistoryHead.objects.select_for_update().get(pk=HistoryHead.ONLY)
    last = _last_checkpoint()
    facts = new_facts(None if everything or last is None else last.made_at - LOOK_BACK)
    for start in range(0, len(facts), EVERY_ENTRIES):
        entries = _append(head, facts[start : start + EVERY_ENTRIES], now)
        if wants_checkpoint(entries[-1].number, now, _last_checkpoint()):
            _sign(head, now)
    if checkpoint or wants_checkpoint(head.number, now, _last_checkpoint()):
        _sign(head, now)
    return len(facts)


def last_checkpoint_row() -> HistoryCheckpoint | None:
    """Return the newest checkpoint."""
    return HistoryCheckpoint.objects.order_by("-entries", "-made_at").first()


def known_key(now: datetime) -> SigningKey:
    """Return the public key that is signed with now; written down when it is first used."""
    public = signing.public_hex()
    return SigningKey.objects.get_or_create(
        key_id=signing.key_id(public), defaults={"public_hex": public, "first_used_at": now}
    )[0]


def _last_checkpoint() -> Checkpoint | None:
    row = last_checkpoint_row()
    if row is None:
        return None
    return Checkpoint(row.entries, row.head, row.made_at, row.key_id, row.signature)


def _append(head: HistoryHead, facts: Sequence[Fact], now: datetime) -> list[Entry]:
    entries = []
    for fact in facts:
        entry = link(fact, number=head.number + 1, previous=head.digest, written_at=now)
        head.number, head.digest = entry.number, entry.digest
        entries.append(entry)
    HistoryEntry.objects.bulk_create(
        HistoryEntry(
            number=each.number,
            source=each.source,
            subject=each.subject,
            content_sha256=each.content_sha256,
            written_at=each.written_at,
            previous=each.previous,
            digest=each.digest,
        )
        for each in entries
    )
    head.save(update_fields=["number", "digest"])
    return entries


def _sign(head: HistoryHead, now: datetime) -> None:
    last = last_checkpoint_row()
    if head.number == 0 or (last is not None and last.entries == head.number):
        return
    HistoryCheckpoint.objects.create(
        entries=head.number,
        head=head.digest,
        made_at=now,
        key_id=known_key(now).key_id,
        signature=signing.sign(checkpoint_bytes(head.number, head.digest, now)),
    )
