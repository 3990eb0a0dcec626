"""Reading the state of due work, for health checks and for the people who must know."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Min, QuerySet

from duework import registry
from duework.models import Effect, RunnerHeartbeat, WorkItem
from duework.registry import Lane

ALIVE_WITHIN_S = 30
"""A runner not seen for this long (six ticks at the default) counts as stalled."""


@dataclass(frozen=True)
class QueueHealth:
    """The state of the queue at one moment.

    Parameters
    ----------
    counts : dict[str, int]
        Items by state; states without items are 0.
    oldest_due_age_s : float
        How long the longest overdue item has waited; 0 when none is overdue.
    runners_alive : int
        Runners seen within the last 30 s.
    """

    counts: dict[str, int]
    oldest_due_age_s: float
    runners_alive: int

    @property
    def stalled(self) -> bool:
        """Return whether work waits and nobody does it."""
        return self.runners_alive == 0 and self.oldest_due_age_s > 0


def queue_health(*, now: datetime) -> QueueHealth:
    """Return counts, the oldest overdue age and who is alive."""
    found = WorkItem.objects.values_list("state").annotate(Count("pk")).order_by()
    counts = {str(state): 0 for state in WorkItem.State.values} | dict(found)
    overdue = WorkItem.objects.filter(state=WorkItem.State.DUE, due_at__lte=now)
    oldest = overdue.aggregate(oldest=Min("due_at"))["oldest"]
    alive = RunnerHeartbeat.objects.filter(beat_at__gte=now - timedelta(seconds=ALIVE_WITHIN_S))
    age_s = (now - oldest).total_seconds() if oldest else 0.0
    return QueueHealth(counts, age_s, alive.count())


def next_due_at(*, lane: Lane = Lane.ALL) -> datetime | None:
    """Return when the next row of the lane is due (perhaps in the past), None when none waits."""
    rows = WorkItem.objects.filter(state=WorkItem.State.DUE)
    if lane is Lane.QUICK:
        rows = rows.exclude(kind__in=registry.prepared_kinds())
    elif lane is not Lane.ALL:
        rows = rows.filter(kind__in=registry.kinds_in(lane))
    found: datetime | None = rows.order_by("due_at", "id").values_list("due_at", flat=True).first()
    return found


def put_aside() -> QuerySet[WorkItem]:
    """Return items that were given up or came too late: somebody must look at them."""
    states = [WorkItem.State.DEAD, WorkItem.State.EXPIRED]
    return WorkItem.objects.filter(state__in=states).order_by("-finished_at")


def about(*, subject_type: str, subject_id: str) -> QuerySet[WorkItem]:
    """Return all items about one subject, the next due first."""
    rows = WorkItem.objects.filter(subject_type=subject_type, subject_id=subject_id)
    return rows.order_by("due_at", "id")


def was_done(*, dedupe_key: str) -> bool:
    """Return whether the work with this key had its effect, ever."""
    return Effect.objects.filter(pk=dedupe_key).exists()


def attempts_at(*, dedupe_keys: Iterable[str]) -> dict[str, tuple[bool, str]]:
    """Return by key whether it is still tried, and what went wrong the last time."""
    rows = WorkItem.objects.filter(dedupe_key__in=list(dedupe_keys))
    tried = (WorkItem.State.DUE, WorkItem.State.LEASED)
    return {row.dedupe_key: (row.state in tried, row.last_error) for row in rows}


def progress_percent(*, dedupe_key: str) -> int:
    """Return how far the work with this key has come, 0 when there is none."""
    found = WorkItem.objects.filter(dedupe_key=dedupe_key).values_list(
        "progress_percent", flat=True
    )
    return found[0] if found else 0
