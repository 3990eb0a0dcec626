"""Doing due work: claim, call the handler, finish in one fenced transaction.

What is promised: the handler's writes, the ``Effect`` row and ``done`` are
committed together or not at all, and only by the holder of the newest lease, so
every key has its effect in this database exactly once whatever dies when.
What is not promised: that `prepare`, or anything said to the outside, happens
once; it happens at least once, each time with the same ``dedupe_key``.
"""

import logging
import random
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import OperationalError, transaction

from duework import failpoints, registry
from duework.claim import claim, give_back, held
from duework.clock import db_now
from duework.domain import backoff
from duework.domain.work import Again, Context, Done, Item, LeaseLostError, Outcome
from duework.lease import RenewedLease
from duework.models import Effect, WorkItem
from duework.registry import Handler, Lane

log = logging.getLogger(__name__)

DATABASE_FELL_S = 5.0
"""Longest wait of work that was under way when the database fell."""

BATCH = 10
"""Rows a claim takes. Quick handlers take milliseconds, so a batch is far shorter than a lease."""

SHORTEST_AGAIN_S = 1.0
"""A handler that pushes itself is not called again sooner: it cannot spin."""

Clock = Callable[[], datetime]


def _never() -> bool:
    return False


def run_due(
    *,
    limit: int = 100,
    now: datetime | None = None,
    lane: Lane = Lane.ALL,
    stop: Callable[[], bool] = _never,
    holder: str = "",
) -> int:
    """Drain up to `limit` due items and return how many were taken up.

    `now` freezes the clock for the whole drain (tests, replays); without it the
    database's clock is read anew for each step. `stop` is asked before each item;
    claimed items that were not begun are given back. `holder` is the name people see
    beside what is being done; without it that of this process.
    """
    clock: Clock = db_now if now is None else lambda: now
    taken = 0
    while taken < limit and not stop():
        claimed = claim(
            # What is slow is claimed one by one: the rest is free for others meanwhile.
            limit=1 if lane in (Lane.SLOW, Lane.OUTSIDE) else min(BATCH, limit - taken),
            now=clock(),
            lease_s=settings.DUEWORK_LEASE_S,
            lane=lane,
            holder=holder,
        )
        if not claimed.taken:
            break
        failpoints.reach("claimed")
        taken += claimed.put_aside + _run_batch(claimed.items, clock, stop)
    return taken


def _run_batch(items: list[Item], clock: Clock, stop: Callable[[], bool]) -> int:
    slow = registry.prepared_kinds()
    for position, item in enumerate(items):
        if stop():
            give_back(items[position:])
            return position
        if item.kind in slow:
            # Others may do the rest while this one takes its minutes.
            give_back(items[position + 1 :])
            _attempt(item, clock)
            return position + 1
        _attempt(item, clock)
    return len(items)


def _attempt(item: Item, clock: Clock) -> None:
    try:
        found = registry.find(item.kind)
        prepared = _prepare(found, item, clock)
        _finish(found, item, Context(now=clock(), prepared=prepared))
    except LeaseLostError:
        log.warning("Another runner took over: %s [%s]", item.kind, item.dedupe_key)
    # A handler may raise anything; it must not take the other items with it.
    except Exception as error:
        log.exception("Due work failed: %s [%s]", item.kind, item.dedupe_key)
        failpoints.reach("failed")
        _fail(item, error, clock())
    else:
        failpoints.reach("after_finish")


def _prepare(found: Handler, item: Item, clock: Clock) -> object:
    if found.prepare is None:
        return None
    with RenewedLease(item, lease_s=settings.DUEWORK_LEASE_S, clock=clock) as lease:
        prepared = found.prepare(item, lease)
    lease.check()
    failpoints.reach("prepared")
    return prepared


def _finish(found: Handler, item: Item, context: Context) -> None:
    with transaction.atomic(durable=True):
        # Lock first: a zombie whose lease was taken must not even call the handler.
        if held(item).select_for_update().first() is None:
            raise LeaseLostError(item.dedupe_key)
        failpoints.reach("before_finish")
        if Effect.objects.filter(pk=item.dedupe_key).exists():
            _set(item, **_done(item, context.now))
            return
        outcome = found.finish(item, context)
        failpoints.reach("after_handler")
        _settle(item, outcome, context.now)
        failpoints.reach("before_commit")


def _settle(item: Item, outcome: Outcome, now: datetime) -> None:
    if isinstance(outcome, Again):
        soonest = now + timedelta(seconds=SHORTEST_AGAIN_S)
        due_at = max(outcome.due_at, soonest)
        fresh = {"due_at": due_at, "wanted_at": due_at, "attempts": 0, "last_error": ""}
        _set(item, state=WorkItem.State.DUE, **fresh)
    elif isinstance(outcome, Done):
        _set(item, **_done(item, now))
        Effect.objects.create(dedupe_key=item.dedupe_key, kind=item.kind, done_at=now)
    else:
        raise TypeError(f"The handler of {item.kind!r} returned {outcome!r}, not Done or Again.")


def _done(item: Item, now: datetime) -> dict[str, object]:
    late_s = max(0.0, (now - (item.wanted_at or item.due_at)).total_seconds())
    return {
        "state": WorkItem.State.DONE,
        "finished_at": now,
        "progress_percent": 100,
        "late_s": late_s,
    }


def _set(item: Item, **fields: object) -> None:
    # The row is locked since the first look, so only the handler itself can have moved it.
    if held(item).update(lease_token=None, lease_until=None, **fields) != 1:
        raise RuntimeError(
            f"The handler of {item.kind!r} moved or cancelled its own item: return Again or Done."
        )


def _fail(item: Item, error: Exception, now: datetime) -> None:
    wait_s = backoff.wait_s(item.attempts, random.random())  # noqa: S311 - jitter
    if isinstance(error, OperationalError):
        # The database fell in the middle: that says nothing of the work.
        wait_s = min(wait_s, DATABASE_FELL_S)
    wait = timedelta(seconds=wait_s)
    text = f"{type(error).__name__}: {error}".replace("\x00", "")[:2_000]
    fields: dict[str, Any] = {"last_error": text, "lease_token": None, "lease_until": None}
    if item.attempts >= item.max_attempts:
        log.error("Due work given up after %d attempts: %s", item.attempts, item.dedupe_key)
        fields |= {"state": WorkItem.State.DEAD, "finished_at": now}
    else:
        fields |= {"state": WorkItem.State.DUE, "due_at": now + wait}
    held(item).update(**fields)
