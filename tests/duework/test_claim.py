"""Who gets which rows, and until when."""

import threading
from collections.abc import Callable
from datetime import timedelta
from itertools import chain

import pytest
from django.db import connection, connections, transaction

from duework import registry
from duework.claim import claim, give_back, held
from duework.domain.work import Context, Done, Item, Lease, Outcome
from duework.models import WorkItem
from duework.registry import Lane
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]
LEASE_S = 60


@pytest.mark.parametrize(
    ("after_s", "taken"),
    [
        (-1, 1),  # overdue
        (0, 1),  # due at this very moment
        (0.001, 0),  # a millisecond early is early
    ],
)
def test_only_what_is_due_is_claimed(due: Due, after_s: float, taken: int) -> None:
    """No item is done before its time."""
    due(after_s=after_s)

    assert claim(limit=10, now=NOW, lease_s=LEASE_S).taken == taken


def test_the_longest_overdue_comes_first(due: Due) -> None:
    """A backlog is worked off in order."""
    for key, after_s in (("late", -10), ("latest", -20), ("fresh", 0)):
        due(key, after_s=after_s)

    claimed = claim(limit=2, now=NOW, lease_s=LEASE_S)

    assert [item.dedupe_key for item in claimed.items] == ["latest", "late"]


@pytest.mark.parametrize(
    ("later_s", "taken"),
    [
        (59, 0),  # still leased
        (60, 0),  # the last moment of the lease belongs to its holder
        (60.001, 1),  # lapsed
    ],
)
def test_a_lapsed_lease_is_claimed_by_the_same_query(due: Due, later_s: float, taken: int) -> None:
    """A dead runner's work is free when its lease is over, not before."""
    due()
    claim(limit=1, now=NOW, lease_s=LEASE_S)

    later = NOW + timedelta(seconds=later_s)

    assert claim(limit=1, now=later, lease_s=LEASE_S).taken == taken


def test_a_taken_over_item_is_no_longer_held(due: Due) -> None:
    """The newest token is the fence."""
    due()
    first = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]
    second = claim(limit=1, now=NOW + timedelta(hours=1), lease_s=LEASE_S).items[0]

    assert not held(first).exists()
    assert held(second).exists()
    assert second.attempts == 2


def test_work_past_its_use_expires_undone(due: Due) -> None:
    """A reminder of yesterday is not sent; it is put aside for people to see."""
    due(useful_until=NOW - timedelta(seconds=1))

    claimed = claim(limit=1, now=NOW, lease_s=LEASE_S)

    assert (claimed.items, claimed.put_aside) == ([], 1)
    assert WorkItem.objects.get().state == "expired"


def test_an_item_that_kills_its_runners_is_given_up(due: Due) -> None:
    """Eight leases taken and none returned: poison."""
    due()
    for attempt in range(8):
        now = NOW + timedelta(hours=attempt)
        assert len(claim(limit=1, now=now, lease_s=LEASE_S).items) == 1

    last = claim(limit=1, now=NOW + timedelta(hours=9), lease_s=LEASE_S)

    assert (last.items, last.put_aside) == ([], 1)
    assert WorkItem.objects.get().state == "dead"


def test_an_item_given_back_is_as_if_never_claimed(due: Due) -> None:
    """It is due at once and keeps its attempts."""
    due()

    give_back(claim(limit=1, now=NOW, lease_s=LEASE_S).items)

    row = WorkItem.objects.get()
    assert (row.state, row.attempts, row.lease_token) == ("due", 0, None)


@pytest.mark.parametrize(
    ("lane", "keys"),
    [
        (Lane.ALL, {"q", "s", "o"}),
        (Lane.QUICK, {"q"}),
        (Lane.SLOW, {"s"}),
        (Lane.OUTSIDE, {"o"}),
    ],
)
def test_each_lane_takes_its_own_kinds(due: Due, lane: Lane, keys: set[str]) -> None:
    """Kinds with a slow part have a lane of their own, and those that wait for the outside."""

    def prepare(_item: Item, _lease: Lease) -> None:
        return None

    @registry.handler("package", prepare=prepare)
    def package(_item: Item, _context: Context) -> Outcome:
        return Done()

    registry.handler("message", prepare=prepare, outside=True)(lambda _item, _context: Done())
    due("q")
    due("s", kind="package")
    due("o", kind="message")

    claimed = claim(limit=10, now=NOW, lease_s=LEASE_S, lane=lane)

    assert {item.dedupe_key for item in claimed.items} == keys


@pytest.mark.django_db(transaction=True)
def test_a_claim_inside_a_transaction_is_refused(due: Due) -> None:
    """Its lease would be invisible until the caller commits, or vanish with a rollback."""
    due()

    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        claim(limit=1, now=NOW, lease_s=LEASE_S)


@pytest.mark.django_db(transaction=True)
def test_two_claims_at_once_never_share_a_row(due: Due) -> None:
    """PostgreSQL only: SQLite's in-memory test database has one writer (see tests/faults)."""
    if connection.vendor != "postgresql":
        pytest.skip("row locks exist on PostgreSQL only; tests/faults covers SQLite by processes")
    for number in range(60):
        due(str(number))
    taken: list[list[str]] = [[], [], [], []]

    def take(mine: list[str]) -> None:
        while items := claim(limit=3, now=NOW, lease_s=LEASE_S).items:
            mine += [item.dedupe_key for item in items]
        connections.close_all()

    threads = [threading.Thread(target=take, args=(mine,)) for mine in taken]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    found = sorted(chain.from_iterable(taken), key=int)
    assert found == [str(number) for number in range(60)]


@pytest.mark.parametrize(
    ("set_back_s", "taken"),
    [
        (60, 0),  # its lease ends within two leases from now: it may be true
        (61, 1),  # no lease of a true clock ends so late
        (3_600, 1),  # an hour, as when a zone is set wrongly: the orphan does not wait an hour
    ],
)
def test_a_lease_from_before_the_clock_was_set_back_is_void(
    due: Due, set_back_s: float, taken: int
) -> None:
    """Whoever took it is fenced out if alive; if it is dead, nobody waits for its time."""
    due(after_s=-7_200)
    claim(limit=1, now=NOW, lease_s=LEASE_S)

    now = NOW - timedelta(seconds=set_back_s)

    assert claim(limit=1, now=now, lease_s=LEASE_S).taken == taken


def test_a_clock_set_forward_frees_leases_and_the_fence_holds(due: Due) -> None:
    """An hour forward every lease has lapsed: the first holder may work on, but not finish."""
    due()
    first = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]

    second = claim(limit=1, now=NOW + timedelta(hours=1), lease_s=LEASE_S).items[0]

    assert (held(first).exists(), held(second).exists()) == (False, True)


@pytest.mark.parametrize("set_by", [timedelta(hours=-1), timedelta(hours=1)])
def test_nothing_is_early_by_the_clock_that_counts(due: Due, set_by: timedelta) -> None:
    """Due is due when the database's clock says so, whatever it said before."""
    due(after_s=set_by.total_seconds())

    assert claim(limit=1, now=NOW + set_by - timedelta(milliseconds=1), lease_s=60).taken == 0
    assert claim(limit=1, now=NOW + set_by, lease_s=60).taken == 1


def test_who_holds_it_is_written_on_the_row(due: Due) -> None:
    """People see who has it, and afterwards who had it last."""
    due()

    claim(limit=1, now=NOW, lease_s=LEASE_S, holder="host-a:17:quick")

    assert WorkItem.objects.get().held_by == "host-a:17:quick"


def test_payload_and_times_come_back_as_they_were_written(due: Due) -> None:
    """The claim reads the row by its own SQL: nothing is lost on the way."""
    due("a", payload={"ids": ["x", "y"], "version": 3})

    item = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]

    assert item.payload == {"ids": ["x", "y"], "version": 3}
    assert (item.due_at, item.wanted_at, item.attempts) == (NOW, NOW, 1)
    assert WorkItem.objects.get().lease_until == NOW + timedelta(seconds=LEASE_S)
