"""The queue at the API: what waits, who holds it, and what is decided about it."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction

from duework import registry, runner
from duework.domain.work import Context, Done, Item, Outcome
from duework.models import RunnerHeartbeat, WorkItem
from duework.services import schedule
from repairs.models import Account
from tests.api.test_problems import check
from tests.callers import API, signed_in
from tests.factories import now

pytestmark = pytest.mark.django_db
QUEUE = f"{API}/due-work"


@pytest.fixture(autouse=True)
def _invented_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Register two kinds of their own: one that works and one that never does."""
    monkeypatch.setattr(registry, "_handlers", {})

    @registry.handler("good")
    def good(_item: Item, _context: Context) -> Outcome:
        return Done()

    @registry.handler("bad")
    def bad(_item: Item, _context: Context) -> Outcome:
        raise RuntimeError("the gauge does not answer")


@pytest.fixture
def admin(administrator: Account) -> Any:
    """Return the administrator at the door."""
    return signed_in(administrator)


def work(key: str, *, kind: str = "good", ago_s: float = 0) -> WorkItem:
    """Write a row due some seconds ago."""
    with transaction.atomic():
        return schedule(
            kind=kind,
            subject_type="repair",
            subject_id="r1",
            dedupe_key=key,
            due_at=now() - timedelta(seconds=ago_s),
        )


def dead_work() -> WorkItem:
    """Write a row, and let it fail until it is given up."""
    row = work("bad:1", kind="bad", ago_s=20_000)
    for hour in range(8):
        runner.run_due(now=row.due_at + timedelta(hours=hour))
    row.refresh_from_db()
    assert row.state == "dead"
    return row


def test_the_queue_says_what_waits_and_who_is_at_work(admin: Any) -> None:
    """Due, late, oldest, and the runners with what they hold."""
    work("now")
    work("late", ago_s=30)
    work("tomorrow", ago_s=-86_400)
    RunnerHeartbeat.objects.create(runner="host:1:quick", started_at=now(), beat_at=now())

    body = admin.get(QUEUE).json()

    (good,) = body["backlog"]
    assert (good["kind"], good["due"], good["late"], good["dead"]) == ("good", 3, 1, 0)
    assert 30 <= body["oldest_due_age_s"] < 60
    (runner_,) = body["runners"]
    assert (runner_["name"], runner_["alive"], runner_["holds"]) == ("host:1:quick", True, 0)


@pytest.mark.parametrize(
    ("asked", "keys"),
    [
        ({}, ["late", "now", "tomorrow"]),
        ({"state": "late"}, ["late"]),
        ({"state": "due", "kind": "good"}, ["late", "now", "tomorrow"]),
        ({"kind": "bad"}, []),
        ({"state": "dead"}, []),
    ],
)
def test_rows_are_listed_by_state_and_kind(
    admin: Any, asked: dict[str, str], keys: list[str]
) -> None:
    """The longest due first."""
    work("tomorrow", ago_s=-86_400)
    work("now")
    work("late", ago_s=30)

    found = admin.get(f"{QUEUE}/items", asked).json()["results"]

    assert [row["dedupe_key"] for row in found] == keys


def test_a_state_nobody_knows_is_refused(admin: Any) -> None:
    """With the states there are."""
    answer = admin.get(f"{QUEUE}/items", {"state": "lost"})

    (fault,) = check(answer, 422, "malformed")["errors"]
    assert (fault["field"], fault["found"]) == ("state", "'lost'")
    assert "dead" in fault["expected"]


def test_dead_work_is_shown_with_its_error_and_tried_again(admin: Any) -> None:
    """From the list to the ruling to done, and the ruling stays on record."""
    dead_work()
    (row,) = admin.get(f"{QUEUE}/items", {"state": "dead"}).json()["results"]
    assert (row["attempts"], row["last_error"]) == (8, "RuntimeError: the gauge does not answer")
    WorkItem.objects.update(kind="good")

    sent = {"word": "retry", "reason": "gauge mended"}
    answer = admin.post(f"{QUEUE}/items/{row['id']}/ruling", sent)

    assert answer.status_code == 201
    runner.run_due()
    assert admin.get(f"{QUEUE}/items/{row['id']}").json()["state"] == "done"
    (kept,) = admin.get(f"{QUEUE}/rulings").json()["results"]
    assert (kept["ruled_by"], kept["word"], kept["reason"]) == (
        "administrator",
        "retry",
        "gauge mended",
    )
    assert kept["error_before"] == "RuntimeError: the gauge does not answer"


def test_a_second_ruling_is_told_that_there_is_nothing_to_rule_on(admin: Any) -> None:
    """Two administrators look at the same list."""
    where = f"{QUEUE}/items/{dead_work().pk}/ruling"
    assert admin.post(where, {"word": "drop", "reason": "told by phone"}).status_code == 201

    check(admin.post(where, {"word": "retry", "reason": "x"}), 409, "not_put_aside")


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"word": "retry"}, "reason"),
        ({"word": "retry", "reason": " "}, "reason"),
        ({"word": "retry", "reason": "x" * 501}, "reason"),
        ({"word": "delete", "reason": "x"}, "word"),
        ({"word": "drop", "reason": "x", "by": "somebody else"}, "by"),
    ],
)
def test_a_ruling_without_its_reason_is_not_understood(
    admin: Any, sent: dict[str, str], field: str
) -> None:
    """Each fault names its field; nothing is decided."""
    row = dead_work()

    answer = admin.post(f"{QUEUE}/items/{row.pk}/ruling", sent)

    assert [each["field"] for each in check(answer, 422, "malformed")["errors"]] == [field]
    row.refresh_from_db()
    assert row.state == "dead"
