"""What the queue looks like at one moment, in figures: for pages, the API and metrics.

All of it is read from the rows, never counted in a process: any process may be
asked, and none loses its figures when it dies.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Case, Count, FloatField, Min, Q, QuerySet, Sum, Value, When

from duework.domain.lateness import BOUNDS_S, bound_of
from duework.models import RunnerHeartbeat, Tally, WorkItem
from duework.selectors import ALIVE_WITHIN_S

State = WorkItem.State

LATE_AFTER_S = 10.0
"""Due for longer than this is late: without a broker work begins within ten seconds."""


@dataclass(frozen=True)
class Backlog:
    """What waits or was put aside of one kind.

    Parameters
    ----------
    kind : str
        The kind.
    counts : dict[str, int]
        Rows by state: due, leased, dead, expired.
    late : int
        Of the due ones, those due for more than ten seconds.
    failing : int
        Of the due ones, those that failed before and wait for another attempt.
    oldest_due_age_s : float
        How long the longest overdue one has waited; 0 when none is overdue.
    """

    kind: str
    counts: dict[str, int]
    late: int
    failing: int
    oldest_due_age_s: float


@dataclass(frozen=True)
class Finished:
    """What was ever done of one kind: how often, how late, in how many attempts.

    Parameters
    ----------
    kind : str
        The kind.
    within : tuple of (float, int)
        For each bound in seconds, how many were done no later than that; cumulative.
    late_s : float
        Seconds late, summed over all.
    attempts : int
        Attempts, summed over all; equal to the number done when nothing ever fails.
    """

    kind: str
    within: tuple[tuple[float, int], ...]
    late_s: float
    attempts: int

    @property
    def done(self) -> int:
        """Return how many were done."""
        return self.within[-1][1]


@dataclass(frozen=True)
class Runner:
    """Who turns the crank: its name, when it began and was last seen, what it did and holds."""

    name: str
    started_at: datetime
    beat_at: datetime
    age_s: float
    handled: int
    holds: int

    @property
    def alive(self) -> bool:
        """Return whether it was seen within the last thirty seconds."""
        return self.age_s <= ALIVE_WITHIN_S


def backlog(*, now: datetime) -> list[Backlog]:
    """Return what waits or was put aside, kind by kind; kinds without any are left out."""
    waiting = (State.DUE, State.LEASED, State.DEAD, State.EXPIRED)
    due, overdue = Q(state=State.DUE), Q(state=State.DUE, due_at__lte=now)
    late = Q(state=State.DUE, due_at__lt=now - timedelta(seconds=LATE_AFTER_S))
    counts = {f"n_{state.value}": Count("pk", filter=Q(state=state)) for state in waiting}
    rows = WorkItem.objects.filter(state__in=waiting).values("kind").order_by("kind")
    found: Iterable[Any] = rows.annotate(
        **counts,
        late=Count("pk", filter=late),
        failing=Count("pk", filter=due & Q(attempts__gt=0)),
        oldest=Min("due_at", filter=overdue),
    )
    return [
        Backlog(
            kind=row["kind"],
            counts={state.value: row[f"n_{state.value}"] for state in waiting},
            late=row["late"],
            failing=row["failing"],
            oldest_due_age_s=(now - row["oldest"]).total_seconds() if row["oldest"] else 0.0,
        )
        for row in found
    ]


def finished() -> list[Finished]:
    """Return what was ever done, kind by kind: rows that are there, and tallies of purged ones."""
    within: dict[str, dict[float, int]] = defaultdict(lambda: dict.fromkeys(BOUNDS_S, 0))
    late_s: dict[str, float] = defaultdict(float)
    attempts: dict[str, int] = defaultdict(int)
    for kind, bound_s, done, late, tried in _counted():
        within[kind][bound_of(bound_s)] += done
        late_s[kind] += late
        attempts[kind] += tried
    return [
        Finished(kind, _cumulative(within[kind]), late_s[kind], attempts[kind])
        for kind in sorted(within)
    ]


def runners(*, now: datetime) -> list[Runner]:
    """Return who was seen within the last day, and who holds work, the last seen first."""
    holds = dict(
        WorkItem.objects.filter(state=State.LEASED)
        .values_list("held_by")
        .annotate(Count("pk"))
        .order_by()
    )
    return [
        Runner(
            name=row.runner,
            started_at=row.started_at,
            beat_at=row.beat_at,
            age_s=max(0.0, (now - row.beat_at).total_seconds()),
            handled=row.handled,
            holds=holds.get(row.runner, 0),
        )
        for row in RunnerHeartbeat.objects.order_by("-beat_at", "runner")
    ]


def rows_in(*, state: str, now: datetime) -> QuerySet[WorkItem]:
    """Return the rows in a state; ``late`` is a state here: due for more than ten seconds."""
    if state == "late":
        before = now - timedelta(seconds=LATE_AFTER_S)
        return WorkItem.objects.filter(state=State.DUE, due_at__lt=before)
    return WorkItem.objects.filter(state=state)


STATES: Sequence[str] = (*State.values, "late")


def _counted() -> list[tuple[str, float, int, float, int]]:
    bounds = [When(late_s__lte=bound_s, then=Value(bound_s)) for bound_s in BOUNDS_S]
    done = WorkItem.objects.filter(state=State.DONE, late_s__isnull=False).order_by()
    there = (
        done.annotate(bound=Case(*bounds, output_field=FloatField()))
        .values("kind", "bound")
        .annotate(n=Count("pk"), late=Sum("late_s"), tried=Sum("attempts"))
        .values_list("kind", "bound", "n", "late", "tried")
    )
    # One statement for both, or a purge between two would be counted twice or not at all.
    kept = Tally.objects.order_by().values_list("kind", "bound_s", "done", "late_s", "attempts")
    return list(there.union(kept, all=True))


def _cumulative(counted: dict[float, int]) -> tuple[tuple[float, int], ...]:
    total = 0
    found = []
    for bound_s in BOUNDS_S:
        total += counted[bound_s]
        found.append((bound_s, total))
    return tuple(found)
