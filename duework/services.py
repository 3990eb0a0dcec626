"""Writing due work: always inside the transaction of its cause.

``schedule``, ``announce`` and the two cancels refuse to run outside a
transaction: work written beside its cause, not with it, is work that can be
lost, or done for something that never happened.
"""

import json
from collections.abc import Collection, Mapping
from datetime import datetime
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from duework import doorbell, registry
from duework.domain.work import Payload
from duework.models import WorkItem

LONGEST_PAYLOAD = 4_000
"""Characters of JSON. Ids fit; facts, which would be stale when the work is done, do not."""


def schedule(
    *,
    kind: str,
    subject_type: str,
    subject_id: str | UUID | int,
    dedupe_key: str,
    due_at: datetime,
    payload: Payload | None = None,
    useful_until: datetime | None = None,
    max_attempts: int = WorkItem.MAX_ATTEMPTS,
) -> WorkItem:
    """Write work of `kind` to be done at `due_at`, or move the row with the same key.

    A key is one effect for ever: a row that is done stays done. Any other row
    takes the new time and payload and is due again; one that is being done at
    this moment is done again with the new payload, and the attempt under way is
    fenced out. `max_attempts` says after how many failures it is given up; what waits for
    somebody else's server to be mended is worth more than what is late in minutes.
    """
    _require_transaction()
    registry.find(kind)
    wanted = {
        "kind": kind,
        "subject_type": subject_type,
        "subject_id": str(subject_id),
        "due_at": _aware(due_at, "due_at"),
        "wanted_at": due_at,
        "useful_until": useful_until and _aware(useful_until, "useful_until"),
        "payload": _ids_only(payload or {}),
        "max_attempts": max_attempts,
    }
    item, created = WorkItem.objects.get_or_create(dedupe_key=dedupe_key, defaults=wanted)
    if not created:
        _move(item, wanted)
    doorbell.ring_after_commit()
    return item


def keep_going(
    *,
    kind: str,
    subject_type: str,
    subject_id: str | UUID | int,
    dedupe_key: str,
    due_at: datetime,
) -> None:
    """Begin work that comes again and again, unless it waits or is being done already.

    Its handler always returns ``Again``, so the row is never done. One that was given up or
    called off is begun anew.
    """
    _require_transaction()
    going = WorkItem.objects.filter(
        dedupe_key=dedupe_key, state__in=[WorkItem.State.DUE, WorkItem.State.LEASED]
    )
    if not going.exists():
        schedule(
            kind=kind,
            subject_type=subject_type,
            subject_id=subject_id,
            dedupe_key=dedupe_key,
            due_at=due_at,
        )


def announce(
    *,
    topic: str,
    subject_type: str,
    subject_id: str | UUID | int,
    dedupe_key: str,
    payload: Payload | None = None,
    now: datetime,
) -> list[WorkItem]:
    """Write one item, due at once, for each kind that follows `topic`; none when nobody does."""
    _require_transaction()
    return [
        schedule(
            kind=kind,
            subject_type=subject_type,
            subject_id=subject_id,
            dedupe_key=f"{dedupe_key}:{kind}",
            due_at=now,
            payload=payload,
        )
        for kind in registry.subscribers(topic)
    ]


def cancel(*, dedupe_key: str, now: datetime) -> bool:
    """Call off the work with this key; False when there is none or it is finished."""
    return _cancel(WorkItem.objects.filter(dedupe_key=dedupe_key), now) == 1


def cancel_prefix(*, prefix: str, now: datetime) -> int:
    """Call off all unfinished work whose key begins with `prefix`; return how many."""
    if not prefix:
        raise ValueError("prefix is empty: that would call off everything.")
    return _cancel(WorkItem.objects.filter(dedupe_key__startswith=prefix), now)


def cancel_others(*, prefix: str, keep: Collection[str], now: datetime) -> int:
    """Call off unfinished work under `prefix` except the keys to keep; return how many."""
    if not prefix:
        raise ValueError("prefix is empty: that would call off everything.")
    rows = WorkItem.objects.filter(dedupe_key__startswith=prefix).exclude(dedupe_key__in=keep)
    return _cancel(rows, now)


def _move(item: WorkItem, wanted: Mapping[str, object]) -> None:
    fresh = {
        **wanted,
        "state": WorkItem.State.DUE,
        "attempts": 0,
        "lease_token": None,
        "lease_until": None,
        "finished_at": None,
        "last_error": "",
        "progress_percent": 0,
    }
    # The condition is judged by the UPDATE itself: a runner may finish meanwhile.
    rows = WorkItem.objects.filter(pk=item.pk).exclude(state=WorkItem.State.DONE)
    rows.update(**fresh)
    item.refresh_from_db()


def _cancel(rows: QuerySet[WorkItem], now: datetime) -> int:
    _require_transaction()
    unfinished = rows.filter(state__in=[WorkItem.State.DUE, WorkItem.State.LEASED])
    return unfinished.update(
        state=WorkItem.State.CANCELLED,
        lease_token=None,
        lease_until=None,
        finished_at=_aware(now, "now"),
    )


def _require_transaction() -> None:
    if not connection.in_atomic_block:
        raise RuntimeError("Due work is written inside the transaction of its cause: use atomic().")


def _aware(moment: datetime, name: str) -> datetime:
    if moment.tzinfo is None:
        raise ValueError(f"{name} has no zone; times are aware UTC.")
    return moment


def _ids_only(payload: Payload) -> dict[str, object]:
    found: dict[str, object] = dict(payload)
    if len(json.dumps(found)) > LONGEST_PAYLOAD:
        raise ValueError("payload is too long: give ids, the handler reads the facts again.")
    return found
