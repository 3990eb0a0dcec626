"""The page of reports kept aside: what came, why not, and what a person does about it."""

import json

import pytest
from django.test import Client

from dispatch.models import Crew, SetAside
from repairs.models import Account, FieldEvent, Repair
from tests.callers import post_event, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event
from tests.proof_factories import AssignmentFactory, SetAsideFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def office(dispatcher: Account) -> Client:
    """Return the dispatcher's browser."""
    client = Client()
    client.force_login(dispatcher)
    return client


def test_the_board_tells_and_the_page_shows_why(
    office: Client, crew_lead: Account, repair: Repair
) -> None:
    """A mistyped unit: the words of the fault, the repair, and what was sent."""
    post_event(
        with_token(crew_lead),
        event(str(repair.id), "inflated", now(), {"pressure": {"value": 4.8, "unit": "pis"}}),
    )

    assert "1 report could not be taken" in office.get("/board").content.decode()
    page = office.get("/set-aside").content.decode()
    assert f"<strong>inflated</strong> of {repair.ref}" in page
    assert "data.pressure" in page
    assert "&quot;pis&quot;" in page


def test_each_fault_is_shown_and_the_crew_is_led_there(crew_lead: Account, repair: Repair) -> None:
    """Three things wrong, three lines; my day says that something waits."""
    sent = event(str(repair.id), "inflated", now())
    post_event(with_token(crew_lead), {**sent, "specversion": "2", "time": "noon"})
    phone = Client()
    phone.force_login(crew_lead)

    page = phone.get("/set-aside").content.decode()

    assert [word in page for word in ("specversion: found", "time: found", "data.pressure: found")]
    assert page.count(": found ") == 3
    assert "1 report could not be taken" in phone.get("/my-day").content.decode()


def test_another_crews_repair_is_not_named(crew_lead: Account, crew: Crew) -> None:
    """What a crew may not see stays unnamed, also beside its own report."""
    assert crew
    stray = RepairFactory(ref="REP-STRAY")
    post_event(with_token(crew_lead), event(str(stray.id), "arrived", now()))
    phone = Client()
    phone.force_login(crew_lead)

    assert "REP-STRAY" not in phone.get("/set-aside").content.decode()


def test_dropping_wants_a_reason_and_keeps_what_was_typed(office: Client) -> None:
    """Without one nothing is settled; with one it is, and the page is empty."""
    row = SetAsideFactory()

    nothing = office.post("/set-aside", {"report": row.pk, "reason": " ", "drop": "1"})
    done = office.post("/set-aside", {"report": row.pk, "reason": "a test", "drop": "1"})

    assert nothing.status_code == 422
    assert "Say why nothing comes of it." in nothing.content.decode()
    assert done.status_code == 302
    assert SetAside.objects.get().settled_reason == "a test"
    assert "Everything that came in was taken." in office.get("/set-aside").content.decode()


def test_one_that_is_still_wrong_says_so_and_stays(office: Client, crew_lead: Account) -> None:
    """Tried again too early; once the repair is assigned, it is taken."""
    repair = RepairFactory()
    sent = event(str(repair.id), "arrived", now())
    post_event(with_token(crew_lead), {**sent, "specversion": "2"})
    row = SetAside.objects.get()

    wrong = office.post("/set-aside", {"report": row.pk, "again": "1"})
    SetAside.objects.update(body=json.dumps(sent))
    taken = office.post("/set-aside", {"report": row.pk, "again": "1"})

    assert wrong.status_code == 422
    assert "Still not taken: specversion" in wrong.content.decode()
    assert taken.status_code == 302
    assert FieldEvent.objects.get().repair_id == repair.id


def test_a_report_nobody_knows_is_not_found(office: Client) -> None:
    """A form that was tampered with."""
    assert office.post("/set-aside", {"report": "x", "again": "1"}).status_code == 404
