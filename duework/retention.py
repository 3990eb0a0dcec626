"""Taking away rows that nobody needs any more; their effects and figures stay.

Done, cancelled and expired rows go when they have been finished for
``DUEWORK_KEEP_DAYS``. Dead ones stay until a person rules on them. An
``Effect`` is never taken away: it is what keeps a key from being done again.
"""

from collections import Counter
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import F

from duework.claim import lock_free
from duework.domain.lateness import bound_of
from duework.models import Tally, WorkItem

State = WorkItem.State
KEPT_FOR_A_WHILE = (State.DONE, State.CANCELLED, State.EXPIRED)
AT_ONCE = 500
"""Rows a transaction takes away: nobody waits long for its locks."""


def purge(*, now: datetime, at_most: int = 20 * AT_ONCE) -> int:
    """Take away up to `at_most` rows past their time and return how many went."""
    gone = 0
    while gone < at_most and (taken := _purge_some(now, min(AT_ONCE, at_most - gone))):
        gone += taken
    return gone


def _purge_some(now: datetime, limit: int) -> int:
    before = now - timedelta(days=settings.DUEWORK_KEEP_DAYS)
    old = WorkItem.objects.filter(state__in=KEPT_FOR_A_WHILE, finished_at__lt=before)
    with transaction.atomic(durable=True):
        rows = list(lock_free(old.order_by("finished_at"))[:limit])
        _count([row for row in rows if row.state == State.DONE])
        WorkItem.objects.filter(pk__in=[row.pk for row in rows]).delete()
    return len(rows)


def _count(rows: list[WorkItem]) -> None:
    """Add the figures of done rows to the tallies, in the transaction that takes them away."""
    done: Counter[tuple[str, float]] = Counter()
    late_s: Counter[tuple[str, float]] = Counter()
    attempts: Counter[tuple[str, float]] = Counter()
    for row in rows:
        if row.late_s is None:
            continue
        place = (row.kind, bound_of(row.late_s))
        done[place] += 1
        late_s[place] += row.late_s  # type: ignore[assignment]
        attempts[place] += row.attempts
    # In one order for all, so that two purges cannot lock each other out.
    for kind, bound_s in sorted(done):
        place = (kind, bound_s)
        Tally.objects.get_or_create(kind=kind, bound_s=bound_s)
        Tally.objects.filter(kind=kind, bound_s=bound_s).update(
            done=F("done") + done[place],
            late_s=F("late_s") + late_s[place],
            attempts=F("attempts") + attempts[place],
        )
