"""What people decide about work that was given up or came too late."""

import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest

from duework import runner
from duework.domain.work import Item
from duework.models import Ruling, WorkItem
from duework.rulings import NotPutAsideError, rule
from tests.duework.due_moments import NOW

pytestmark = pytest.mark.django_db
Due = Callable[..., WorkItem]
RETRY, DROP = Ruling.Word.RETRY, Ruling.Word.DROP
LATER = NOW + timedelta(hours=2)


def put_aside(due: Due, state: str = "dead") -> WorkItem:
    """Write a row that was given up, or expired an hour ago."""
    due("a")
    past = NOW - timedelta(hours=1)
    WorkItem.objects.update(
        state=state, attempts=8, finished_at=past, useful_until=past, last_error="RuntimeError: x"
    )
    return WorkItem.objects.get()


@pytest.mark.parametrize("state", ["dead", "expired"])
def test_a_retry_is_done_at_once_with_all_attempts(due: Due, calls: list[Item], state: str) -> None:
    """Whoever says so wants it now, though its use was over."""
    row = put_aside(due, state)

    rule(item_id=row.pk, word=RETRY, reason="gauge mended", ruled_by="ann", now=LATER)

    assert runner.run_due(now=LATER) == 1
    assert WorkItem.objects.get().state == "done"
    assert calls[0].attempts == 1


def test_how_late_a_retried_item_was_is_told_honestly(due: Due) -> None:
    """From when it was wanted first, not from the retry."""
    row = put_aside(due)
    rule(item_id=row.pk, word=RETRY, reason="gauge mended", ruled_by="ann", now=LATER)

    runner.run_due(now=LATER)

    assert WorkItem.objects.get().late_s == 7_200.0


def test_a_dropped_item_is_never_done(due: Due, calls: list[Item]) -> None:
    """It is cancelled, and goes with the next purge."""
    row = put_aside(due)

    rule(item_id=row.pk, word=DROP, reason="told by phone", ruled_by="ann", now=LATER)

    assert runner.run_due(now=LATER) == 0
    assert (WorkItem.objects.get().state, calls) == ("cancelled", [])


def test_who_when_and_why_are_kept_with_what_it_was(due: Due) -> None:
    """The row's own error is gone after a good retry; the ruling still tells it."""
    row = put_aside(due)

    rule(item_id=row.pk, word=RETRY, reason=" gauge mended ", ruled_by="ann", now=LATER)

    kept = Ruling.objects.get()
    assert (kept.ruled_by, kept.ruled_at, kept.reason) == ("ann", LATER, "gauge mended")
    assert (kept.state_before, kept.attempts_before) == ("dead", 8)
    assert (kept.error_before, kept.dedupe_key) == ("RuntimeError: x", "a")


@pytest.mark.parametrize("state", ["due", "done", "cancelled"])
def test_what_is_not_put_aside_cannot_be_ruled_on(due: Due, state: str) -> None:
    """Two people rule at once: the second is told that the first was quicker."""
    row = put_aside(due, state)

    with pytest.raises(NotPutAsideError, match="not put aside"):
        rule(item_id=row.pk, word=DROP, reason="x", ruled_by="ann", now=LATER)

    assert not Ruling.objects.exists()


@pytest.mark.parametrize(
    ("reason", "by"), [("", "ann"), ("  ", "ann"), ("x" * 501, "ann"), ("x", "")]
)
def test_without_a_reason_or_a_name_nothing_is_decided(due: Due, reason: str, by: str) -> None:
    """An unexplained decision helps nobody next month."""
    row = put_aside(due)

    with pytest.raises(ValueError, match="needs a name, and a reason"):
        rule(item_id=row.pk, word=DROP, reason=reason, ruled_by=by, now=LATER)

    assert WorkItem.objects.get().state == "dead"


def test_unknown_work_cannot_be_ruled_on() -> None:
    """It was purged, or never was."""
    with pytest.raises(WorkItem.DoesNotExist):
        rule(item_id=uuid.uuid4(), word=DROP, reason="x", ruled_by="ann", now=NOW)


def test_a_ruling_is_never_rewritten(due: Due) -> None:
    """Neither changed nor deleted; whoever thinks otherwise rules again."""
    row = put_aside(due)
    ruling = rule(item_id=row.pk, word=DROP, reason="x", ruled_by="ann", now=LATER)

    with pytest.raises(TypeError, match="never deleted"):
        ruling.delete()
    ruling.reason = "y"
    with pytest.raises(Exception, match=r"(?i)unique"):
        ruling.save()
