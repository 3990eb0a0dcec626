"""Runners killed at every named place, stopped and woken: nothing is lost, nothing done twice."""

import os
import signal
import time
from typing import Any

import pytest

from duework import failpoints

pytestmark = pytest.mark.slow

DONE_ONCE = "SELECT count(*), count(DISTINCT dedupe_key) FROM killable_mark"
EFFECTS = "SELECT count(*) FROM duework_effect"


@pytest.mark.parametrize("name", failpoints.NAMES)
def test_death_at_a_named_place_loses_and_doubles_nothing(place: Any, name: str) -> None:
    """The process dies there; the next one, after the lease, brings each item to one effect."""
    third = "fails-once=1" if name == "failed" else "quick=1"
    items = ("slow=2", third)
    in_fill = name == "scheduled"
    died = place.fill(*items, **({"CUREWRIGHT_FAIL_AT": name} if in_fill else {}))
    if not in_fill:
        died = place.runner("--once", CUREWRIGHT_FAIL_AT=name).wait(timeout=20)
    assert died == failpoints.EXIT_CODE

    def drained() -> bool:
        # Stands for the passing of the lease and of the back-off.
        place.rows("UPDATE duework_workitem SET lease_until='2000-01-01' WHERE state='leased'")
        place.rows("UPDATE duework_workitem SET due_at='2000-01-01' WHERE state='due'")
        assert place.runner("--once").wait(timeout=20) == 0
        return bool(place.unfinished() == 0)

    place.until(drained, within_s=25)

    assert place.rows(DONE_ONCE) == [(3, 3)]
    assert place.rows(EFFECTS) == [(3,)]


def test_a_zombie_is_fenced_out(place: Any) -> None:
    """A runner stopped past its lease wakes when another has done the work: it changes nothing."""
    place.fill("zombie=1")
    first = place.runner()
    place.until((place.folder / "asleep").exists, within_s=10)
    os.killpg(first.pid, signal.SIGSTOP)
    second = place.runner()
    place.until(lambda: place.unfinished() == 0, within_s=10)
    os.killpg(second.pid, signal.SIGKILL)
    second.wait()

    (place.folder / "go").touch()
    os.killpg(first.pid, signal.SIGCONT)
    place.fill("quick=1")
    place.until(lambda: place.unfinished() == 0, within_s=10)
    time.sleep(0.3)

    marks = place.rows("SELECT dedupe_key, process FROM killable_mark ORDER BY id")
    assert [key for key, _ in marks] == ["zombie:0:second", "quick:0"]
    assert first.poll() is None, "the fenced runner goes on working"


def test_sigterm_finishes_the_item_in_hand(place: Any) -> None:
    """A polite end gives back what was not begun: no lease is left behind to be waited for."""
    place.fill("quick=100", "slow=20")
    runner = place.runner()
    place.until(lambda: place.rows(EFFECTS) != [(0,)], within_s=10)

    os.kill(runner.pid, signal.SIGTERM)

    assert runner.wait(timeout=10) == 0
    assert place.rows("SELECT count(*) FROM duework_workitem WHERE state='leased'") == [(0,)]
    assert place.unfinished() > 0, "it did not drain everything first"
