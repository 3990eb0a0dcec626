"""Taking due rows for oneself: an exclusive, time-limited lease with a fencing token.

Two statements in one short transaction. On PostgreSQL the rows are locked with
SKIP LOCKED, so runners never wait for each other; the rows are picked first and
updated by key, because a LIMIT with SKIP LOCKED inside an UPDATE's own subquery
may be evaluated more than once by the planner. On SQLite, which has no row
locks and would ignore them silently, the transaction is IMMEDIATE (settings):
one writer at a time. Rows whose lease has lapsed are claimed by the same query,
so there is no sweeper that could itself be dead.
"""

import logging
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.db.models import F, Q, QuerySet

from duework import registry
from duework.domain.work import Item
from duework.models import WorkItem
from duework.registry import Lane

log = logging.getLogger(__name__)
State = WorkItem.State


@dataclass(frozen=True)
class Claim:
    """What one claim took: work to do, and how many rows it put aside instead."""

    items: list[Item]
    put_aside: int

    @property
    def taken(self) -> int:
        """Return how many rows left the queue; 0 means it is empty for now."""
        return len(self.items) + self.put_aside


def claim(*, limit: int, now: datetime, lease_s: float, lane: Lane = Lane.ALL) -> Claim:
    """Lease up to `limit` claimable rows, the longest due first, and count each as an attempt.

    A row past its ``useful_until`` becomes ``expired`` and a row that has used
    up its attempts (its runner died each time) becomes ``dead``: both are shown
    to people, neither is done.
    """
    token = uuid.uuid4()
    with transaction.atomic(durable=True):
        rows = list(_lock(_claimable(now, lane).order_by("due_at", "id"))[:limit])
        expired = [row for row in rows if row.useful_until and row.useful_until < now]
        rest = [row for row in rows if row not in expired]
        dead = [row for row in rest if row.attempts >= row.max_attempts]
        free = [row for row in rest if row.attempts < row.max_attempts]
        _put_aside(expired, State.EXPIRED, now)
        _put_aside(dead, State.DEAD, now)
        _rows(free).update(
            state=State.LEASED,
            lease_token=token,
            lease_until=now + timedelta(seconds=lease_s),
            attempts=F("attempts") + 1,
        )
    return Claim([_item(row, token) for row in free], len(expired) + len(dead))


def give_back(items: list[Item]) -> None:
    """Return claimed but untouched items at once; the attempt does not count."""
    for item in items:
        held(item).update(
            state=State.DUE, lease_token=None, lease_until=None, attempts=F("attempts") - 1
        )


def held(item: Item) -> QuerySet[WorkItem]:
    """Return the item's row if, and only if, this claim still holds it: the fence."""
    return WorkItem.objects.filter(
        pk=item.id, lease_token=item.lease_token, state=WorkItem.State.LEASED
    )


def _claimable(now: datetime, lane: Lane) -> QuerySet[WorkItem]:
    due = Q(state=State.DUE, due_at__lte=now)
    lapsed = Q(state=State.LEASED, lease_until__lt=now)
    rows = WorkItem.objects.filter(due | lapsed)
    if lane is Lane.QUICK:
        return rows.exclude(kind__in=registry.slow_kinds())
    if lane is Lane.SLOW:
        return rows.filter(kind__in=registry.slow_kinds())
    return rows


def _lock(rows: QuerySet[WorkItem]) -> QuerySet[WorkItem]:
    if connection.features.has_select_for_update_skip_locked:
        return rows.select_for_update(skip_locked=True)
    return rows


def _put_aside(rows: list[WorkItem], state: WorkItem.State, now: datetime) -> None:
    for row in rows:
        log.error("Due work put aside as %s after %d attempts: %s", state, row.attempts, row)
    _rows(rows).update(state=state, finished_at=now, lease_token=None, lease_until=None)


def _rows(rows: list[WorkItem]) -> QuerySet[WorkItem]:
    return WorkItem.objects.filter(pk__in=[row.pk for row in rows])


def _item(row: WorkItem, token: uuid.UUID) -> Item:
    return Item(
        id=row.id,
        kind=row.kind,
        subject_type=row.subject_type,
        subject_id=row.subject_id,
        dedupe_key=row.dedupe_key,
        payload=row.payload,
        due_at=row.due_at,
        attempts=row.attempts + 1,
        max_attempts=row.max_attempts,
        lease_token=token,
    )
