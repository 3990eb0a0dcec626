"""The threads that turn the crank."""

import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.utils import timezone

from duework import ticker as tickers
from duework.domain.work import Item
from duework.models import RunnerHeartbeat, WorkItem
from duework.registry import Lane
from duework.ticker import Crank, Ticker
from tests.duework.due_moments import LONG_AGO_S, NOW

Due = Callable[..., WorkItem]


@pytest.mark.django_db
def test_a_tick_drains_everything_and_shows_that_it_lives(due: Due, calls: list[Item]) -> None:
    """More than one drain's worth of items goes in one tick."""
    for number in range(tickers.DRAIN + 5):
        due(str(number), after_s=LONG_AGO_S)

    ticker = Ticker(Lane.QUICK)
    ticker.tick()

    assert len(calls) == tickers.DRAIN + 5
    assert RunnerHeartbeat.objects.get().runner.endswith(":quick")


@pytest.mark.django_db
def test_runners_gone_for_a_day_are_forgotten() -> None:
    """Restarts do not fill the table."""
    old = timezone.now() - timedelta(days=1, seconds=1)
    RunnerHeartbeat.objects.create(runner="gone", started_at=old, beat_at=old)

    Ticker().tick()

    assert not RunnerHeartbeat.objects.filter(runner="gone").exists()


def test_a_failed_tick_does_not_end_the_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    """The database restarts; the ticker is still there afterwards, and ends when asked."""
    ticks: list[int] = []

    class Unlucky(Ticker):
        def tick(self) -> None:
            ticks.append(1)
            raise OperationalError("the server closed the connection")

    monkeypatch.setattr(Ticker, "_pause_s", lambda _self: 0.01)
    unlucky = Unlucky()

    unlucky.start()
    time.sleep(0.2)
    assert unlucky.is_alive()
    unlucky.stop()

    assert not unlucky.is_alive()
    assert len(ticks) > 2


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("calls")
def test_a_crank_works_every_lane_until_stopped(due: Due) -> None:
    """Work written before the start is done without any bell."""
    if connection.vendor == "sqlite":
        pytest.skip("threads lock each other out of an in-memory SQLite; tests/faults has files")
    due(after_s=LONG_AGO_S)
    crank = Crank()

    crank.start()
    for _ in range(50):
        if WorkItem.objects.get().state == "done":
            break
        time.sleep(0.05)
    crank.stop()
    crank.join()

    assert WorkItem.objects.get().state == "done"
    assert RunnerHeartbeat.objects.count() == 3


@pytest.mark.parametrize("tick_s", [1, 5])
def test_the_pause_varies_by_a_fifth(settings: object, tick_s: int) -> None:
    """Runners started together drift apart, but none is much later than promised."""
    settings.DUEWORK_TICK_S = tick_s  # type: ignore[attr-defined]

    pauses = [Ticker()._pause_s() for _ in range(200)]  # noqa: SLF001

    assert 0.8 * tick_s <= min(pauses) < max(pauses) <= 1.2 * tick_s


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("after_s", "least_s", "most_s"),
    [
        (None, 60, 60),  # nothing waits: a whole tick
        (3_600, 60, 60),  # not within this tick
        (2, 1, 2),  # a timer needs no bell: the ticker is there when it is due
        (-5, 0.2, 0.2),  # in another's hand at this moment: soon again, without spinning
    ],
)
@pytest.mark.usefixtures("calls")
def test_a_ticker_sleeps_no_longer_than_until_the_next_row_is_due(
    due: Due, after_s: float | None, least_s: float, most_s: float
) -> None:
    """The tick is the longest sleep, not the usual one."""
    if after_s is not None:
        due(after_s=(timezone.now() - NOW).total_seconds() + after_s)

    wait_s = Ticker(Lane.QUICK)._until_next_due_s(60)  # noqa: SLF001

    assert least_s <= wait_s <= most_s


@pytest.mark.django_db
@pytest.mark.usefixtures("calls")
def test_the_slow_lane_takes_old_rows_away(due: Due, monkeypatch: pytest.MonkeyPatch) -> None:
    """Once an hour each runner purges; the quick lane has better things to do."""
    monkeypatch.setattr(tickers, "PURGE_EVERY_S", 0.0)
    due(after_s=-100 * 86_400)
    long_ago = timezone.now() - timedelta(days=100)
    WorkItem.objects.update(state="done", finished_at=long_ago, late_s=0.0)

    Ticker(Lane.QUICK).tick()
    assert WorkItem.objects.count() == 1

    Ticker(Lane.SLOW).tick()
    assert WorkItem.objects.count() == 0


def test_a_bell_ends_the_sleep_of_the_tickers(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the bell rang for may be due in a second, while the ticker sleeps for a minute."""
    ticks: list[int] = []

    class Counting(Ticker):
        def tick(self) -> None:
            ticks.append(1)
            raise OperationalError("nothing to look at here")

    monkeypatch.setattr(Ticker, "_pause_s", lambda _self: 60.0)
    counting = Counting()
    counting.start()
    for wanted in (1, 2):
        for _ in range(100):
            if len(ticks) == wanted:
                break
            time.sleep(0.05)
        assert len(ticks) == wanted
        counting.look_again()

    counting.stop()
    assert not counting.is_alive()
