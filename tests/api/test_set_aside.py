"""What a crew reports is never thrown away: kept, shown with its reason, sent again or dropped."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from rest_framework.test import APIClient

from dispatch.models import Crew, SetAside
from repairs.models import Account, FieldEvent, Repair
from tests.callers import API, post_batch, post_event, signed_in, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event
from tests.proof_factories import AssignmentFactory
from tests.proved_repair import a_ready_crew

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


@pytest.fixture
def office(dispatcher: Account) -> APIClient:
    """Return the dispatcher."""
    return signed_in(dispatcher)


def _listed(client: APIClient, **asked: str) -> list[dict[str, Any]]:
    return list(client.get(f"{API}/set-aside", asked).json()["results"])


def _mistyped(repair: Repair) -> dict[str, Any]:
    return event(str(repair.id), "inflated", now(), {"pressure": {"value": 4.8, "unit": "pis"}})


def test_a_mistyped_report_is_kept_and_told_so(
    phone: APIClient, office: APIClient, repair: Repair
) -> None:
    """422 with the id under which it is kept; the office sees it word for word, with the fault."""
    sent = _mistyped(repair)

    answer = post_event(phone, sent)

    assert answer.status_code == 422
    (kept,) = _listed(office)
    assert kept["id"] == answer.json()["set_aside"]
    assert kept["sent"] == sent
    assert kept["errors"][0]["field"] == "data.pressure"
    assert _listed(phone)[0]["id"] == kept["id"]


def test_sent_mended_it_becomes_the_event(
    phone: APIClient, office: APIClient, repair: Repair
) -> None:
    """Tried as it is it is refused again and stays; mended it is stored once."""
    sent = _mistyped(repair)
    kept = post_event(phone, sent).json()["set_aside"]
    mended = {**sent, "data": {"pressure": {"value": 4.8, "unit": "psi"}}}
    where = f"{API}/set-aside/{kept}/send-again"

    as_it_is = office.post(where, {}, format="json")
    taken = office.post(where, {"event": mended}, format="json")
    again = office.post(where, {"event": mended}, format="json")

    assert (as_it_is.status_code, taken.status_code, again.status_code) == (422, 201, 409)
    assert taken.json()["settled_as"] == sent["id"]
    assert FieldEvent.objects.get().kind == "inflated"
    assert _listed(office) == []
    assert _listed(office, settled="yes")[0]["sent"] == sent


def test_another_crews_repair_waits_for_its_assignment(
    phone: APIClient, repair: Repair, crew: Crew
) -> None:
    """404 at first and kept; once the repair is the crew's, the same report is taken."""
    assert repair
    stray = RepairFactory()
    answer = post_event(phone, event(str(stray.id), "arrived", now()))
    kept = answer.json()["set_aside"]
    AssignmentFactory(repair=stray, crew=crew, next_day=True)

    taken = phone.post(f"{API}/set-aside/{kept}/send-again", {}, format="json")

    assert (answer.status_code, taken.status_code) == (404, 201)
    assert FieldEvent.objects.get().repair_id == stray.id


def test_the_clock_is_that_of_the_first_sending(phone: APIClient, repair: Repair) -> None:
    """A phone five minutes slow, mended an hour later: its offset stays five minutes."""
    sent = _mistyped(repair)
    told = (now() - timedelta(minutes=5)).isoformat()
    kept = post_event(phone, sent, **{"Device-Time": told}).json()["set_aside"]
    SetAside.objects.update(
        received_at=SetAside.objects.get().received_at - timedelta(hours=1),
        device_told=SetAside.objects.get().device_told - timedelta(hours=1),
    )
    mended = {**sent, "data": {"pressure": {"value": 4.8, "unit": "psi"}}}

    phone.post(f"{API}/set-aside/{kept}/send-again", {"event": mended}, format="json")

    row = FieldEvent.objects.get()
    assert row.clock_verified
    assert row.offset_high_s == pytest.approx(300, abs=5)


def test_in_a_batch_one_is_kept_and_the_rest_is_stored(phone: APIClient, repair: Repair) -> None:
    """Even what no column could hold, and what is no event at all."""
    good = [event(str(repair.id), "temperature_read", now(), _warm(n)) for n in range(3)]
    nul = {**event(str(repair.id), "arrived", now()), "source": "a\0b"}

    answer = post_batch(phone, [good[0], nul, good[1], "hello", good[2], _mistyped(repair)])

    told = answer.json()
    assert [each["status"] for each in told] == [
        "stored",
        "not understood",
        "stored",
        "not understood",
        "stored",
        "not understood",
    ]
    assert SetAside.objects.count() == 3
    assert {each["set_aside"] for each in told if "set_aside" in each} == {
        str(row.pk) for row in SetAside.objects.all()
    }
    assert FieldEvent.objects.count() == 3


def test_sent_again_and_again_it_is_kept_once(phone: APIClient, repair: Repair) -> None:
    """A phone that does not give up makes one row."""
    sent = _mistyped(repair)

    assert len({post_event(phone, sent).json()["set_aside"] for _ in range(5)}) == 1


def test_the_same_id_with_another_body_is_kept_for_a_person(
    phone: APIClient, office: APIClient, repair: Repair
) -> None:
    """422; the first stands, the second waits, and is dropped with a reason."""
    first = event(str(repair.id), "arrived", now(), event_id=str(uuid4()))
    post_event(phone, first)
    answer = post_event(phone, {**first, "source": "another phone"})
    kept = answer.json()["set_aside"]

    nothing = office.post(f"{API}/set-aside/{kept}/drop", {"reason": ""}, format="json")
    dropped = office.post(f"{API}/set-aside/{kept}/drop", {"reason": "a test"}, format="json")

    assert (answer.status_code, answer.json()["code"]) == (422, "same_id_other_body")
    assert (nothing.status_code, dropped.status_code) == (422, 200)
    assert dropped.json()["settled_reason"] == "a test"
    assert FieldEvent.objects.get().device == first["source"]


def test_another_crew_sees_nothing_of_it(phone: APIClient, repair: Repair) -> None:
    """Its own people and the office do."""
    kept = post_event(phone, _mistyped(repair)).json()["set_aside"]
    stranger, _, _ = a_ready_crew()
    other = with_token(stranger.account)

    assert _listed(other) == []
    assert other.post(f"{API}/set-aside/{kept}/drop", {"reason": "x"}).status_code == 404


def _warm(degrees: int) -> dict[str, Any]:
    return {"temperature": {"value": 10 + degrees, "unit": "degC"}, "where": "pipe_wall"}


def test_one_bad_report_in_500_leaves_499_stored(phone: APIClient, repair: Repair) -> None:
    """The largest batch there is, with one mistyped in the middle; that one is kept aside."""
    sent = [event(str(repair.id), "temperature_read", now(), _warm(n % 9)) for n in range(500)]
    sent[250] = _mistyped(repair)

    answer = post_batch(phone, sent)

    told = [each["status"] for each in answer.json()]
    assert (told.count("stored"), told.count("not understood")) == (499, 1)
    assert FieldEvent.objects.count() == 499
    assert SetAside.objects.get().event_id == sent[250]["id"]
