"""The queue in the admin: for administrators, to see and to rule."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from duework.models import Ruling, RunnerHeartbeat, WorkItem
from repairs.domain.roles import Role
from repairs.models import Account
from repairs.services.accounts import open_account

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.config.queue_urls")]
QUEUE = "/admin/duework/workitem/"


@pytest.fixture
def admin() -> Client:
    """Return a browser in which an administrator is signed in."""
    account = open_account(username="ann", password="an invented password", role=Role.ADMINISTRATOR)
    browser = Client()
    browser.force_login(account)
    return browser


def row(key: str, state: str, **more: Any) -> WorkItem:
    """Write a row in a state."""
    at = timezone.now() - timedelta(seconds=30)
    return WorkItem.objects.create(
        kind="remind",
        subject_type="repair",
        subject_id="r1",
        dedupe_key=key,
        due_at=at,
        wanted_at=at,
        state=state,
        **more,
    )


def rule(browser: Client, word: str, reason: str, *rows: WorkItem) -> str:
    """Choose rows and an action, give a reason, press Go; return the page."""
    chosen = [str(each.pk) for each in rows]
    sent = {"action": word, "reason": reason, "_selected_action": chosen}
    return browser.post(QUEUE, sent, follow=True).content.decode()


def test_the_queue_shows_figures_and_rows(admin: Client) -> None:
    """What waits by kind, who is at work, and each row with its error."""
    row("late one", "due")
    row("hopeless one", "dead", attempts=8, last_error="RuntimeError: invented")
    RunnerHeartbeat.objects.create(
        runner="host:1:quick", started_at=timezone.now(), beat_at=timezone.now()
    )

    page = admin.get(QUEUE).content.decode()

    for words in ("late one", "hopeless one", "RuntimeError: invented", "host:1:quick"):
        assert words in page
    assert "hopeless one" not in admin.get(QUEUE, {"late": "yes"}).content.decode()
    assert "late one" not in admin.get(QUEUE, {"state__exact": "dead"}).content.decode()


def test_a_queue_that_nobody_works_says_so(admin: Client) -> None:
    """The first thing to look at when nothing happens."""
    assert "nothing will be done" in admin.get(QUEUE).content.decode()


def test_dead_rows_are_tried_again_with_a_reason(admin: Client) -> None:
    """And who said so is kept."""
    given_up = row("hopeless one", "dead", attempts=8)

    page = rule(admin, "retry", "gauge mended", given_up)

    given_up.refresh_from_db()
    assert (given_up.state, given_up.attempts) == ("due", 0)
    kept = Ruling.objects.get()
    assert (kept.ruled_by, kept.reason, kept.word) == ("ann", "gauge mended", "retry")
    assert "1 ruled on: try again." in page
    assert "gauge mended" in admin.get("/admin/duework/ruling/").content.decode()


def test_what_cannot_be_ruled_on_is_said_and_the_others_are_ruled_on(admin: Client) -> None:
    """One choice of two rows, of which one is done."""
    given_up, done = row("hopeless one", "dead"), row("finished", "done")

    page = rule(admin, "drop", "told by phone", given_up, done)

    assert "1 ruled on: drop." in page
    assert "Finished: remind [finished] done is not put aside" in page
    assert set(WorkItem.objects.values_list("state", flat=True)) == {"cancelled", "done"}


def test_without_a_reason_nothing_happens(admin: Client) -> None:
    """The page says what is needed."""
    page = rule(admin, "drop", "", row("hopeless one", "dead"))

    assert "needs a name, and a reason" in page
    assert not Ruling.objects.exists()


def test_nothing_can_be_edited(admin: Client) -> None:
    """Rows are written by programs, in the transaction of their cause."""
    one = row("hopeless one", "dead")

    assert admin.get(f"{QUEUE}add/").status_code == 403
    assert admin.post(f"{QUEUE}{one.pk}/delete/", {"post": "yes"}).status_code == 403
    assert admin.post(f"{QUEUE}{one.pk}/change/", {"state": "done"}).status_code == 403
    assert rule(admin, "delete_selected", "x", one)
    assert WorkItem.objects.get().state == "dead"


@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "crew_lead", "client_user"])
def test_only_administrators_come_in(who: str, request: pytest.FixtureRequest) -> None:
    """Not even a dispatcher whom somebody marked as staff and superuser."""
    account: Account = request.getfixturevalue(who)
    account.is_staff = account.is_superuser = True
    account.save()
    browser = Client()
    browser.force_login(account)

    answer = browser.get(QUEUE)

    assert answer.status_code == 302
    assert answer["Location"].startswith("/admin/login/")


def test_the_admin_is_off_unless_switched_on(client: Client, settings: Any) -> None:
    """By default there is no such address."""
    settings.ROOT_URLCONF = "config.urls"

    assert client.get(QUEUE).status_code == 404
