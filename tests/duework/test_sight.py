"""What people and metrics are shown of the queue."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from duework import registry, runner, sight
from duework.claim import claim
from duework.domain.work import Context, Done, Item, Outcome
from duework.models import RunnerHeartbeat, WorkItem
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]


def test_an_empty_queue_shows_nothing() -> None:
    """No kinds, no runners."""
    assert sight.backlog(now=NOW) == []
    assert sight.finished() == []
    assert sight.runners(now=NOW) == []


def test_the_backlog_is_told_by_kind_and_state(due: Due) -> None:
    """What waits, what is late, what failed before, what was put aside; what is done is not."""
    due("tomorrow", after_s=86_400)
    due("now", after_s=-10)
    due("late", after_s=-10.001)
    due("failed", after_s=60)
    WorkItem.objects.filter(dedupe_key="failed").update(attempts=2)
    for state in ("dead", "expired", "done", "cancelled"):
        due(state)
        WorkItem.objects.filter(dedupe_key=state).update(state=state)

    (found,) = sight.backlog(now=NOW)

    assert found.counts == {"due": 4, "leased": 0, "dead": 1, "expired": 1}
    assert (found.kind, found.late, found.failing) == ("note", 1, 1)
    assert found.oldest_due_age_s == pytest.approx(10.001)


def test_late_is_asked_like_a_state(due: Due) -> None:
    """The list of what is late is the one the figure counts."""
    due("now", after_s=-10)
    due("late", after_s=-11)

    rows = sight.rows_in(state="late", now=NOW)

    assert [row.dedupe_key for row in rows] == ["late"]


def test_who_holds_what_is_told_with_who_lives(due: Due) -> None:
    """A runner that holds work and was not seen for long has died with it."""
    for name, seen_s in (("a", 3), ("b", 31)):
        seen = NOW - timedelta(seconds=seen_s)
        RunnerHeartbeat.objects.create(runner=name, started_at=seen, beat_at=seen, handled=7)
    for key in "xyz":
        due(key)
    claim(limit=3, now=NOW, lease_s=60, holder="b")

    found = [(each.name, each.alive, each.holds) for each in sight.runners(now=NOW)]

    assert found == [("a", True, 0), ("b", False, 3)]


def test_failures_show_in_attempts_and_lateness(due: Due) -> None:
    """An item done in its second attempt is late since it was wanted, not since its back-off."""

    @registry.handler("unlucky")
    def unlucky(item: Item, _context: Context) -> Outcome:
        if item.attempts == 1:
            raise RuntimeError("invented")
        return Done()

    due("a", kind="unlucky")
    runner.run_due(now=NOW)
    runner.run_due(now=NOW + timedelta(seconds=4))

    (found,) = sight.finished()
    assert (found.done, found.attempts, found.late_s) == (1, 2, 4.0)
    assert dict(found.within)[2.0] == 0
    assert dict(found.within)[5.0] == 1
