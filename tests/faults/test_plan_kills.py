"""A runner killed in the middle of a search: another makes the plan, and one plan stands."""

import os
import signal
from pathlib import Path

import pytest

from tests.faults.place import Place

pytestmark = pytest.mark.slow
PERCENT = "SELECT percent FROM dispatch_planrun"
PLANS = "SELECT count(*) FROM dispatch_plan"
EFFECTS = "SELECT count(*) FROM duework_effect WHERE kind = 'make-plan'"


def test_a_search_that_is_killed_is_done_again_and_stored_once(tmp_path: Path) -> None:
    """SIGKILL at work, then another runner after the lease; called off, it ends in seconds."""
    place = Place(f"sqlite:///{tmp_path / 'plans.sqlite3'}", tmp_path)
    whole = {"DJANGO_SETTINGS_MODULE": "config.settings", "CUREWRIGHT_VAR": str(tmp_path)}
    try:
        assert place.run("django", "migrate", "-v0", **whole) == 0
        assert place.run("tests.faults.plan_to_make", **whole) == 0
        first = place.runner(**whole)
        place.until(lambda: place.rows(PERCENT)[0][0] >= 11, within_s=30)  # type: ignore[operator]
        os.killpg(first.pid, signal.SIGKILL)
        first.wait()
        assert place.rows(PLANS) == [(0,)]

        place.rows("UPDATE dispatch_planrun SET percent = 0")
        place.runner(**whole)
        place.until(lambda: place.rows(PERCENT)[0][0] >= 11, within_s=30)  # type: ignore[operator]
        place.rows("UPDATE dispatch_planrun SET cancel_asked_at = asked_at")

        place.until(lambda: place.rows(PLANS) == [(1,)], within_s=10)
        assert place.rows("SELECT state FROM dispatch_planrun") == [("cancelled",)]
        assert place.rows(EFFECTS) == [(1,)]
        assert place.rows("SELECT count(*) FROM dispatch_planstop") == [(4,)]
    finally:
        place.end()
