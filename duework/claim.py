"""Taking due rows for oneself: an exclusive, time-limited lease with a fencing token.

One statement in one short transaction. On PostgreSQL the rows are picked and
locked with SKIP LOCKED, so runners never wait for each other; they are picked in
a CTE, because a LIMIT with SKIP LOCKED in the UPDATE's own subquery may be
evaluated more than once by the planner. On SQLite, which has no row locks and
would ignore them silently, the transaction is IMMEDIATE (settings): one writer
at a time. Rows whose lease has lapsed are claimed by the same statement, so
there is no sweeper that could itself be dead.
"""

import logging
import os
import socket
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import connection, transaction
from django.db.models import F, QuerySet

from duework import registry
from duework.domain.work import Item
from duework.models import WorkItem
from duework.registry import Lane

log = logging.getLogger(__name__)
State = WorkItem.State

LONGEST_TRUE_LEASE = 2
"""A lease that ends later than this many leases from now was taken before the clock was set
back: it is void, or its orphan would wait for the clock to come round again."""

_FREE = "(useful_until IS NULL OR useful_until >= %(now)s) AND attempts < max_attempts"
# Two picks rather than one with OR: each reads the index in order and stops at the limit, so a
# claim from a backlog of 100,000 costs as much as from one of ten.
_PICK = """
WITH lapsed AS (
  SELECT id, due_at FROM {table}
  WHERE state = 'leased' AND (lease_until < %(now)s OR lease_until > %(never)s) {lane}
  ORDER BY due_at, id LIMIT %(limit)s {lock}
), due AS (
  SELECT id, due_at FROM {table}
  WHERE state = 'due' AND due_at <= %(now)s {lane}
  ORDER BY due_at, id LIMIT %(limit)s {lock}
), picked AS (
  SELECT id FROM (SELECT * FROM lapsed UNION ALL SELECT * FROM due) AS found
  ORDER BY due_at, id LIMIT %(limit)s
)
"""
_LOOK = _PICK + "SELECT id FROM picked"  # noqa: S608 - only fixed text, likewise
_TAKE = f"""
{_PICK}
UPDATE {{table}} SET
  state = CASE WHEN useful_until < %(now)s THEN 'expired'
               WHEN attempts >= max_attempts THEN 'dead' ELSE 'leased' END,
  lease_token = CASE WHEN {_FREE} THEN %(token)s END,
  lease_until = CASE WHEN {_FREE} THEN %(until)s END,
  held_by = CASE WHEN {_FREE} THEN %(holder)s ELSE held_by END,
  attempts = CASE WHEN {_FREE} THEN attempts + 1 ELSE attempts END,
  finished_at = CASE WHEN {_FREE} THEN NULL ELSE %(now)s END
WHERE id IN (SELECT id FROM picked)
RETURNING *
"""  # noqa: S608 - only fixed text; every value is a parameter


@dataclass(frozen=True)
class Claim:
    """What one claim took: work to do, and how many rows it put aside instead."""

    items: list[Item]
    put_aside: int

    @property
    def taken(self) -> int:
        """Return how many rows left the queue; 0 means it is empty for now."""
        return len(self.items) + self.put_aside


def this_process(part: str = "") -> str:
    """Return the name under which this process, or a part of it, holds work and is seen."""
    return ":".join(filter(None, (socket.gethostname(), str(os.getpid()), part)))[:120]


def claim(
    *, limit: int, now: datetime, lease_s: float, lane: Lane = Lane.ALL, holder: str = ""
) -> Claim:
    """Lease up to `limit` claimable rows, the longest due first, and count each as an attempt.

    A row past its ``useful_until`` becomes ``expired`` and a row that has used
    up its attempts (its runner died each time) becomes ``dead``: both are shown
    to people, neither is done.
    """
    lease = timedelta(seconds=lease_s)
    where, kinds = _kinds_of(lane)
    lock = "FOR UPDATE SKIP LOCKED" if _has_row_locks() else ""
    meta = WorkItem._meta  # noqa: SLF001 - Django's documented name
    values = {
        "now": now,
        "until": now + lease,
        "never": now + LONGEST_TRUE_LEASE * lease,
        "token": meta.get_field("lease_token").get_db_prep_value(uuid.uuid4(), connection),
        "holder": holder or this_process(),
        "limit": limit,
        **kinds,
    }
    words = {"table": connection.ops.quote_name(meta.db_table), "lane": where, "lock": lock}
    # Without row locks a claim takes the one write lock of the whole database: look first.
    if not lock and not list(WorkItem.objects.raw(_LOOK.format(**words), values)):
        return Claim([], 0)
    with transaction.atomic(durable=True):
        rows = list(WorkItem.objects.raw(_TAKE.format(**words), values))
    for row in rows:
        if row.state != State.LEASED:
            log.error("Due work put aside after %d attempts: %s", row.attempts, row)
    items = [_item(row) for row in rows if row.state == State.LEASED]
    return Claim(sorted(items, key=lambda item: (item.due_at, item.id)), len(rows) - len(items))


def give_back(items: list[Item]) -> None:
    """Return claimed but untouched items of one claim at once; the attempt does not count."""
    if not items:
        return
    rows = WorkItem.objects.filter(
        pk__in=[item.id for item in items],
        lease_token=items[0].lease_token,
        state=State.LEASED,
    )
    rows.update(state=State.DUE, lease_token=None, lease_until=None, attempts=F("attempts") - 1)


def held(item: Item) -> QuerySet[WorkItem]:
    """Return the item's row if, and only if, this claim still holds it: the fence."""
    return WorkItem.objects.filter(pk=item.id, lease_token=item.lease_token, state=State.LEASED)


def lock_free(rows: QuerySet[WorkItem]) -> QuerySet[WorkItem]:
    """Return the rows locked, without those that somebody else has locked."""
    return rows.select_for_update(skip_locked=True) if _has_row_locks() else rows


def _has_row_locks() -> bool:
    return bool(connection.features.has_select_for_update_skip_locked)


def _kinds_of(lane: Lane) -> tuple[str, dict[str, Any]]:
    # The quick lane takes what no other does, so that a kind nobody knows is seen and put aside.
    quick = lane is Lane.QUICK
    kinds = registry.prepared_kinds() if quick else registry.kinds_in(lane)
    named = {f"kind_{number}": kind for number, kind in enumerate(kinds)}
    if lane is Lane.ALL or (quick and not named):
        return "", {}
    if not named:
        return "AND 1 = 0", {}
    names = ", ".join(f"%({name})s" for name in named)
    return f"AND kind {'NOT IN' if quick else 'IN'} ({names})", named


def _item(row: WorkItem) -> Item:
    if row.lease_token is None:
        raise RuntimeError(f"claimed without a token: {row}")
    return Item(
        id=row.id,
        kind=row.kind,
        subject_type=row.subject_type,
        subject_id=row.subject_id,
        dedupe_key=row.dedupe_key,
        payload=row.payload,
        due_at=row.due_at,
        wanted_at=row.wanted_at,
        attempts=row.attempts,
        max_attempts=row.max_attempts,
        lease_token=row.lease_token,
    )
