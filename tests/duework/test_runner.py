"""Calling handlers: once, fenced, with back-off, and never one at the cost of another."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import OperationalError

from duework import registry, runner
from duework.claim import claim
from duework.domain.work import Again, Context, Done, Item, Lease, LeaseLostError, Outcome
from duework.models import Effect, RunnerHeartbeat, WorkItem
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]


def test_done_work_leaves_its_effect(due: Due, calls: list[Item]) -> None:
    """The row is done and the effect is recorded under the same key."""
    due("cure:r1:3", payload={"version": 3})

    assert runner.run_due(now=NOW) == 1

    row = WorkItem.objects.get()
    assert (row.state, row.finished_at, row.progress_percent) == ("done", NOW, 100)
    assert Effect.objects.get().dedupe_key == "cure:r1:3"
    assert calls[0].payload == {"version": 3}


def test_a_purged_row_does_not_bring_a_second_effect(due: Due, calls: list[Item]) -> None:
    """The effect outlives the row: the same key, written again, is not done again."""
    due("a")
    runner.run_due(now=NOW)
    WorkItem.objects.all().delete()

    due("a")
    runner.run_due(now=NOW)

    assert len(calls) == 1
    assert WorkItem.objects.get().state == "done"


def test_unripe_work_pushes_itself(due: Due) -> None:
    """`Again` moves the row, is no failure and leaves no effect."""

    @registry.handler("cure")
    def cure(_item: Item, context: Context) -> Outcome:
        return Done() if context.now > NOW else Again(NOW + timedelta(minutes=5))

    due("a", kind="cure")
    runner.run_due(now=NOW)

    row = WorkItem.objects.get()
    assert (row.state, row.attempts, row.due_at) == ("due", 0, NOW + timedelta(minutes=5))
    assert not Effect.objects.exists()
    assert runner.run_due(now=NOW + timedelta(minutes=5)) == 1
    assert Effect.objects.count() == 1


def test_a_handler_cannot_spin(due: Due) -> None:
    """`Again` in the past means in a second; the drain ends."""

    @registry.handler("eager")
    def eager(_item: Item, context: Context) -> Outcome:
        return Again(context.now - timedelta(hours=1))

    due("a", kind="eager")

    assert runner.run_due(now=NOW) == 1
    assert WorkItem.objects.get().due_at == NOW + timedelta(seconds=1)


def test_a_failed_handler_leaves_nothing_behind_and_backs_off(due: Due) -> None:
    """Its writes are rolled back; the error is kept for people; the next try is later."""

    @registry.handler("bad")
    def bad(_item: Item, context: Context) -> Outcome:
        RunnerHeartbeat.objects.create(runner="x", started_at=context.now, beat_at=context.now)
        raise ValueError("gauge\x00broken")

    due("a", kind="bad")
    runner.run_due(now=NOW)

    row = WorkItem.objects.get()
    assert not RunnerHeartbeat.objects.exists()
    assert (row.state, row.last_error) == ("due", "ValueError: gaugebroken")
    assert NOW + timedelta(seconds=2) <= row.due_at <= NOW + timedelta(seconds=2.2)


def test_one_bad_item_does_not_stop_the_others(due: Due, calls: list[Item]) -> None:
    """The batch goes on behind it."""

    @registry.handler("bad")
    def bad(_item: Item, _context: Context) -> Outcome:
        raise RuntimeError("invented")

    due("a", kind="bad", after_s=-1)
    due("b")

    assert runner.run_due(now=NOW) == 2
    assert [item.dedupe_key for item in calls] == ["b"]


@pytest.mark.parametrize(
    ("error", "longest_s"), [(OperationalError("the server fell"), 5.0), (ValueError("x"), 60.0)]
)
def test_a_database_that_fell_says_nothing_of_the_work(
    due: Due, error: Exception, longest_s: float
) -> None:
    """The fifth failure waits half a minute and more, but not for a server that restarted."""

    @registry.handler("falls")
    def falls(_item: Item, _context: Context) -> Outcome:
        raise error

    due("f", kind="falls")
    WorkItem.objects.update(attempts=4)

    runner.run_due(now=NOW)

    waits_s = (WorkItem.objects.get().due_at - NOW).total_seconds()
    assert longest_s / 3 < waits_s <= longest_s


def test_work_that_fails_eight_times_is_dead(due: Due) -> None:
    """It is put aside with its last error, and never retried in a loop."""
    tries: list[int] = []

    @registry.handler("bad")
    def bad(item: Item, _context: Context) -> Outcome:
        tries.append(item.attempts)
        raise RuntimeError("invented")

    due("a", kind="bad")
    for hour in range(12):
        runner.run_due(now=NOW + timedelta(hours=hour))

    row = WorkItem.objects.get()
    assert tries == [1, 2, 3, 4, 5, 6, 7, 8]
    assert (row.state, row.last_error) == ("dead", "RuntimeError: invented")


def test_a_handler_must_say_what_came_of_it(due: Due) -> None:
    """Forgetting to return is a failure that says so, not silent success."""

    @registry.handler("mute")
    def mute(_item: Item, _context: Context) -> Outcome:
        return None  # type: ignore[return-value]

    due("a", kind="mute")
    runner.run_due(now=NOW)

    assert "returned None, not Done or Again" in WorkItem.objects.get().last_error


def test_a_handler_that_moves_its_own_item_is_told(due: Due) -> None:
    """It would fence itself out and repeat for ever."""

    @registry.handler("selfish")
    def selfish(_item: Item, _context: Context) -> Outcome:
        due("a", kind="selfish", after_s=60)
        return Done()

    due("a", kind="selfish")
    runner.run_due(now=NOW)

    assert "moved or cancelled its own item" in WorkItem.objects.get().last_error


def test_the_slow_part_hands_its_result_to_the_quick_part(due: Due) -> None:
    """`prepare` runs before, outside the transaction, and its value arrives."""
    got: list[object] = []

    def prepare(item: Item, lease: Lease) -> str:
        lease.report(40)
        got.append(WorkItem.objects.get().progress_percent)
        return f"package of {item.subject_id}"

    @registry.handler("package", prepare=prepare)
    def package(_item: Item, context: Context) -> Outcome:
        got.append(context.prepared)
        return Done()

    due("a", kind="package")
    runner.run_due(now=NOW)

    assert got == [40, "package of r1"]


def test_who_lost_the_lease_does_not_finish(due: Due) -> None:
    """The zombie's `prepare` ends in LeaseLostError; its handler is never called."""
    finished: list[int] = []

    def prepare(_item: Item, lease: Lease) -> None:
        claim(limit=1, now=NOW + timedelta(hours=1), lease_s=60)  # another runner, later
        lease.report(50)

    @registry.handler("package", prepare=prepare)
    def package(item: Item, _context: Context) -> Outcome:
        finished.append(item.attempts)
        return Done()

    due("a", kind="package")
    runner.run_due(now=NOW, limit=1)

    row = WorkItem.objects.get()
    assert finished == []
    assert (row.state, row.attempts, row.last_error) == ("leased", 2, "")


def test_the_fence_stands_in_the_finishing_transaction(due: Due, calls: list[Item]) -> None:
    """Even a runner that never looked at its lease cannot call the handler with a stale one."""
    due("a")
    stale = claim(limit=1, now=NOW, lease_s=60).items[0]
    claim(limit=1, now=NOW + timedelta(hours=1), lease_s=60)

    with pytest.raises(LeaseLostError):
        runner._finish(registry.find("note"), stale, Context(now=NOW))  # noqa: SLF001

    assert calls == []


def test_quick_work_behind_slow_work_is_given_back(due: Due) -> None:
    """While one runner builds a package, the reminders claimed with it are free for others."""
    seen: list[str] = []

    def prepare(_item: Item, _lease: Lease) -> None:
        seen.append(WorkItem.objects.get(dedupe_key="b").state)

    @registry.handler("package", prepare=prepare)
    def package(_item: Item, _context: Context) -> Outcome:
        return Done()

    due("a", kind="package", after_s=-1)
    due("b")

    assert runner.run_due(now=NOW) == 2
    assert seen == ["due"]
    assert set(WorkItem.objects.values_list("attempts", flat=True)) == {1}


def test_a_drain_told_to_stop_gives_back_what_it_did_not_begin(due: Due, calls: list[Item]) -> None:
    """The item in hand is finished, the others are due at once."""
    for key in "abcd":
        due(key)

    taken = runner.run_due(now=NOW, stop=lambda: len(calls) == 2)

    assert taken == 2
    assert WorkItem.objects.filter(state="due", attempts=0).count() == 2


def test_the_limit_is_kept(due: Due, calls: list[Item]) -> None:
    """A drain takes up no more than it was allowed."""
    for number in range(15):
        due(str(number))

    assert runner.run_due(now=NOW, limit=12) == 12
    assert len(calls) == 12


def test_work_written_by_a_handler_is_done_in_the_same_drain(due: Due, calls: list[Item]) -> None:
    """A chain of consequences needs no second bell."""

    @registry.handler("first")
    def first(_item: Item, _context: Context) -> Outcome:
        due("second")
        return Done()

    due("first", kind="first")

    assert runner.run_due(now=NOW) == 2
    assert [item.dedupe_key for item in calls] == ["second"]


def test_work_of_a_kind_nobody_knows_waits_and_says_so(due: Due) -> None:
    """An older worker during an upgrade backs off; the new one will do it."""
    due("a")
    WorkItem.objects.update(kind="from-the-future")

    runner.run_due(now=NOW)

    row = WorkItem.objects.get()
    assert row.state == "due"
    assert "No handler for due work 'from-the-future'" in row.last_error
