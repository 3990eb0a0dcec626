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
from tests.duework.due_moments import LONG_AGO_S

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
def test_a_crank_works_both_lanes_until_stopped(due: Due) -> None:
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
    assert RunnerHeartbeat.objects.count() == 2


@pytest.mark.parametrize("tick_s", [1, 5])
def test_the_pause_varies_by_a_fifth(settings: object, tick_s: int) -> None:
    """Runners started together drift apart, but none is much later than promised."""
    settings.DUEWORK_TICK_S = tick_s  # type: ignore[attr-defined]

    pauses = [Ticker()._pause_s() for _ in range(200)]  # noqa: SLF001

    assert 0.8 * tick_s <= min(pauses) < max(pauses) <= 1.2 * tick_s
