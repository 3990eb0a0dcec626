"""Writing, moving and calling off due work."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.db import transaction

from duework import registry, runner, services
from duework.claim import claim
from duework.domain.work import Context, Done, Item, Outcome
from duework.models import WorkItem
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]


def test_an_item_exists_only_if_its_cause_commits(due: Due) -> None:
    """A rollback takes the item with it."""
    with transaction.atomic():
        due("a")
        transaction.set_rollback(True)

    assert WorkItem.objects.count() == 0


def test_the_same_key_moves_the_item(due: Due) -> None:
    """Scheduling again changes time and payload; there is still one row."""
    due("a", payload={"version": 1})

    moved = due("a", after_s=60, payload={"version": 2})

    assert WorkItem.objects.get() == moved
    assert (moved.due_at, moved.payload) == (NOW + timedelta(seconds=60), {"version": 2})


def test_done_stays_done(due: Due, calls: list[Item]) -> None:
    """A key has its effect once for ever."""
    due("a")
    runner.run_due(now=NOW)

    assert due("a").state == "done"
    assert runner.run_due(now=NOW) == 0
    assert len(calls) == 1


@pytest.mark.parametrize("state", ["dead", "cancelled", "expired"])
def test_an_item_put_aside_is_revived(due: Due, calls: list[Item], state: str) -> None:
    """A new wish for the same key starts afresh, with all attempts."""
    due("a")
    WorkItem.objects.update(state=state, attempts=8, finished_at=NOW, last_error="old")

    due("a")
    runner.run_due(now=NOW)

    assert WorkItem.objects.get().state == "done"
    assert calls[0].attempts == 1


def test_moving_an_item_in_hand_fences_out_the_attempt_under_way(due: Due) -> None:
    """Who runs it has read old facts: it is due again, with the new payload."""
    due("a", payload={"version": 1})
    claim(limit=1, now=NOW, lease_s=60)

    moved = due("a", payload={"version": 2})

    assert (moved.state, moved.lease_token) == ("due", None)


@pytest.mark.usefixtures("calls")
def test_announce_writes_one_item_for_each_follower() -> None:
    """The announcer knows the topic only; each kind gets a key of its own."""

    @registry.handler("other")
    def other(_item: Item, _context: Context) -> Outcome:
        return Done()

    registry.subscribe("progress-changed", "note")
    registry.subscribe("progress-changed", "other")
    registry.subscribe("progress-changed", "other")

    for _ in range(2):
        with transaction.atomic():
            services.announce(
                topic="progress-changed",
                subject_type="repair",
                subject_id=7,
                dedupe_key="event-1",
                now=NOW,
            )

    keys = WorkItem.objects.order_by("dedupe_key").values_list("dedupe_key", flat=True)
    assert list(keys) == ["event-1:note", "event-1:other"]


@pytest.mark.usefixtures("calls")
def test_announcing_to_nobody_writes_nothing() -> None:
    """A topic without followers is no mistake."""
    with transaction.atomic():
        written = services.announce(
            topic="silence", subject_type="repair", subject_id=7, dedupe_key="e", now=NOW
        )

    assert written == []


def test_cancelled_work_is_not_done(due: Due, calls: list[Item]) -> None:
    """Calling off says whether there was something to call off."""
    due("a")

    with transaction.atomic():
        assert services.cancel(dedupe_key="a", now=NOW)
        assert not services.cancel(dedupe_key="a", now=NOW)
        assert not services.cancel(dedupe_key="unknown", now=NOW)

    assert runner.run_due(now=NOW) == 0
    assert calls == []


def test_a_prefix_calls_off_all_reminders_of_one_repair(due: Due) -> None:
    """Only unfinished items whose key begins so; an underscore is no wildcard."""
    for key in ("remind:r_1:gel", "remind:r_1:cure", "remind:rx1:cure"):
        due(key)

    with transaction.atomic():
        assert services.cancel_prefix(prefix="remind:r_1:", now=NOW) == 2

    assert WorkItem.objects.get(state="due").dedupe_key == "remind:rx1:cure"


def test_an_empty_prefix_is_refused() -> None:
    """It would call off all the work there is."""
    with pytest.raises(ValueError, match="prefix is empty"):
        services.cancel_prefix(prefix="", now=NOW)


def test_an_unknown_kind_is_refused_at_once(due: Due) -> None:
    """The mistake shows where the work is written, not hours later."""
    with pytest.raises(LookupError, match="No handler for due work 'nonsense'; known: note"):
        due("a", kind="nonsense")


def test_a_time_without_zone_is_refused(due: Due) -> None:
    """A naive local time would fire hours off."""
    with pytest.raises(ValueError, match="useful_until has no zone"):
        due("a", useful_until=datetime(2031, 5, 6, 8, 0))  # noqa: DTZ001 - the fault tested


def test_a_payload_of_facts_is_refused(due: Due) -> None:
    """Facts would be stale when the work is done; ids are short."""
    with pytest.raises(ValueError, match="give ids"):
        due("a", payload={"log": "4.8 psi " * 1_000})


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("calls")
def test_writing_outside_a_transaction_is_refused() -> None:
    """Work written beside its cause could outlive a cause that failed."""
    with pytest.raises(RuntimeError, match="inside the transaction"):
        services.schedule(kind="note", subject_type="t", subject_id=1, dedupe_key="a", due_at=NOW)


def test_reminders_no_longer_wanted_are_called_off(due: Due) -> None:
    """The kept ones keep their time; another repair's are left alone."""
    for key in ("remind:r1:gel", "remind:r1:cure", "remind:r2:cure"):
        due(key)

    with transaction.atomic():
        assert services.cancel_others(prefix="remind:r1:", keep=["remind:r1:cure"], now=NOW) == 1

    left = WorkItem.objects.filter(state="due").values_list("dedupe_key", flat=True)
    assert set(left) == {"remind:r1:cure", "remind:r2:cure"}


def test_keeping_some_of_everything_is_refused() -> None:
    """An empty prefix would call off the work of all repairs."""
    with pytest.raises(ValueError, match="prefix is empty"):
        services.cancel_others(prefix="", keep=["a"], now=NOW)
