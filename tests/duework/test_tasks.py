"""Celery's door; real workers and brokers are in tests/faults."""

import pytest

from duework import tasks
from duework.registry import Lane
from duework.ticker import Crank


@pytest.mark.parametrize(
    ("taken", "rung"),
    [
        (tasks.DRAIN, 1),  # a full drain: there may be more
        (tasks.DRAIN - 1, 0),  # the queue is empty for now
    ],
)
def test_a_full_drain_passes_the_bell_on(
    monkeypatch: pytest.MonkeyPatch, taken: int, rung: int
) -> None:
    """A backlog is shared among workers instead of held by one until its time limit."""
    rings: list[int] = []
    monkeypatch.setattr(tasks, "run_due", lambda *, limit, **_: min(taken, limit))
    monkeypatch.setattr(tasks, "ring", lambda: rings.append(1))

    tasks.drain()

    assert len(rings) == rung


def test_a_drain_leaves_slow_work_to_the_tickers_and_wakes_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A package that takes longer than a message may is not cut off."""
    lanes: list[Lane] = []
    woken: list[int] = []

    class Sleeping(Crank):
        def look_again(self) -> None:
            woken.append(1)

    monkeypatch.setattr(tasks, "run_due", lambda *, lane, **_: lanes.append(lane))
    monkeypatch.setattr(tasks, "_cranks", [Sleeping()])

    tasks.drain()

    assert (lanes, len(woken)) == ([Lane.QUICK], 1)
