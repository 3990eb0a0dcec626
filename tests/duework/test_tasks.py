"""Celery's door; real workers and brokers are in tests/faults."""

import pytest

from duework import tasks
from duework.registry import Lane


@pytest.mark.parametrize(
    ("quick", "slow", "rung"),
    [
        (tasks.DRAIN, 0, 1),  # a full drain: there may be more
        (tasks.DRAIN - 1, 0, 0),  # the queue is empty for now
        (0, 1, 1),  # one package built: the next may be another worker's
        (0, 0, 0),
    ],
)
def test_a_drain_that_found_much_passes_the_bell_on(
    monkeypatch: pytest.MonkeyPatch, quick: int, slow: int, rung: int
) -> None:
    """A backlog is shared among workers instead of held by one until its time limit."""
    rings: list[int] = []
    there = {Lane.QUICK: quick, Lane.SLOW: slow}
    monkeypatch.setattr(tasks, "run_due", lambda *, limit, lane, **_: min(there[lane], limit))
    monkeypatch.setattr(tasks, "ring", lambda: rings.append(1))

    tasks.drain()

    assert len(rings) == rung
