"""What people and health checks are shown."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from duework import runner, selectors
from duework.models import RunnerHeartbeat, WorkItem
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]


def test_an_empty_queue_is_healthy_even_without_runners() -> None:
    """Nothing waits, so nothing is stalled."""
    health = selectors.queue_health(now=NOW)

    assert (health.oldest_due_age_s, health.runners_alive, health.stalled) == (0.0, 0, False)
    assert set(health.counts) == {"due", "leased", "done", "dead", "cancelled", "expired"}


@pytest.mark.parametrize(
    ("seen_ago_s", "stalled"),
    [
        (30, False),  # the last moment that counts as alive
        (31, True),  # six ticks missed
    ],
)
def test_work_without_a_living_runner_is_stalled(
    due: Due, seen_ago_s: float, *, stalled: bool
) -> None:
    """A runner is alive when it was seen within 30 s."""
    due(after_s=-45)
    due("tomorrow", after_s=86_400)
    seen = NOW - timedelta(seconds=seen_ago_s)
    RunnerHeartbeat.objects.create(runner="r", started_at=seen, beat_at=seen)

    health = selectors.queue_health(now=NOW)

    assert health.stalled is stalled
    assert (health.oldest_due_age_s, health.counts["due"]) == (45.0, 2)


def test_what_was_put_aside_is_shown(due: Due) -> None:
    """Expired and dead items are for people; done ones are not."""
    due("done")
    due("late", useful_until=NOW - timedelta(seconds=1))
    runner.run_due(now=NOW)

    assert [row.dedupe_key for row in selectors.put_aside()] == ["late"]
    assert selectors.was_done(dedupe_key="done")
    assert not selectors.was_done(dedupe_key="late")


def test_a_subjects_work_is_listed_next_first(due: Due) -> None:
    """Whoever opens a repair sees what is still to come for it."""
    due("b", after_s=60)
    due("a")

    rows = selectors.about(subject_type="repair", subject_id="r1")

    assert [row.dedupe_key for row in rows] == ["a", "b"]
    assert not selectors.about(subject_type="repair", subject_id="r2").exists()


def test_progress_of_unknown_work_is_nothing(due: Due) -> None:
    """Whoever waits for a package sees how far it is."""
    due("package:1")
    WorkItem.objects.update(progress_percent=40)

    assert selectors.progress_percent(dedupe_key="package:1") == 40
    assert selectors.progress_percent(dedupe_key="package:2") == 0


def test_what_went_wrong_with_work_is_told_by_its_key() -> None:
    """And whether it is still tried; what nobody ordered is not there."""
    for number, state in enumerate(("due", "dead")):
        WorkItem.objects.create(
            kind="k", subject_type="s", subject_id="1", dedupe_key=f"k{number}", due_at=NOW,
            wanted_at=NOW, state=state, last_error="NoAnswerError: no answer",
        )  # fmt: skip

    assert selectors.attempts_at(dedupe_keys=["k0", "k1", "k2"]) == {
        "k0": (True, "NoAnswerError: no answer"),
        "k1": (False, "NoAnswerError: no answer"),
    }
