"""Field events at the door: stored once, repeated freely, refused by name."""

import json
from datetime import timedelta
from typing import Any

import pytest
from rest_framework.test import APIClient

from dispatch.models import Crew
from repairs.models import Account, FieldEvent, Repair
from tests.callers import API, post_batch, post_event, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event, quantity
from tests.proof_factories import AssignmentFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def arrived(repair: Repair, **more: Any) -> dict[str, Any]:
    """Return an arrival as it is sent."""
    return event(repair.id, "arrived", now(), **more)


def test_an_event_is_stored_once(phone: APIClient, repair: Repair) -> None:
    """The first post stores, the same again is a no-op and says so."""
    sent = arrived(repair)

    first, again = post_event(phone, sent), post_event(phone, sent)

    assert (first.status_code, first.json()["status"]) == (201, "stored")
    assert (again.status_code, again.json()["status"]) == (200, "already there")
    assert again["Idempotent-Replay"] == "true"
    assert FieldEvent.objects.count() == 1


def test_the_same_id_with_another_content_is_refused(phone: APIClient, repair: Repair) -> None:
    """An id names one event for ever; the stored one stays as it is."""
    sent = arrived(repair)
    post_event(phone, sent)

    answer = post_event(phone, {**sent, "data": {"note": "another"}})

    assert (answer.status_code, answer.json()["code"]) == (422, "same_id_other_body")
    assert FieldEvent.objects.get().data == {}


def test_the_same_content_written_otherwise_is_a_repeat(phone: APIClient, repair: Repair) -> None:
    """The order of the names and the white space do not make another event."""
    sent = arrived(repair)
    post_event(phone, sent)

    again = post_event(phone, json.dumps(dict(reversed(sent.items())), indent=4))

    assert again.status_code == 200


def test_every_wrong_field_is_named_at_once(phone: APIClient, repair: Repair) -> None:
    """One answer lists all that is wrong, each with found and expected."""
    sent = event(repair.id, "inflated", now(), {"pressure": 4.8}, id="seven", time="now")

    answer = post_event(phone, sent)

    assert answer.status_code == 422
    errors = answer.json()["errors"]
    assert [error["field"] for error in errors] == ["id", "time", "data.pressure"]
    assert all(error["found"] and error["expected"] for error in errors)
    assert FieldEvent.objects.count() == 0


def test_one_bad_of_five_leaves_four_stored(phone: APIClient, repair: Repair) -> None:
    """Each item of a batch is answered by itself, in its place."""
    batch = [arrived(repair) for _ in range(5)]
    batch[2] = {**batch[2], "type": "curewright.field.lunch"}

    answer = post_batch(phone, batch).json()

    assert [item["status"] for item in answer] == [
        "stored",
        "stored",
        "not understood",
        "stored",
        "stored",
    ]
    assert [item["id"] for item in answer] == [sent["id"] for sent in batch]
    assert answer[2]["errors"][0]["field"] == "type"
    assert FieldEvent.objects.count() == 4


def test_a_batch_sent_again_is_already_there(phone: APIClient, repair: Repair) -> None:
    """A phone that did not hear the answer sends everything again without harm."""
    batch = [arrived(repair) for _ in range(3)]
    post_batch(phone, batch)

    again = post_batch(phone, [*batch, *batch]).json()

    assert {item["status"] for item in again} == {"already there"}
    assert FieldEvent.objects.count() == 3


def test_another_crews_repair_is_refused_item_by_item(
    phone: APIClient, repair: Repair, other_crew_lead: Account
) -> None:
    """In a batch, only the item about somebody else's work is refused."""
    foreign = AssignmentFactory(repair=RepairFactory(), crew=other_crew_lead.crew_member.crew)

    answer = post_batch(phone, [arrived(repair), arrived(foreign.repair)]).json()

    assert [item["status"] for item in answer] == ["stored", "refused"]
    assert answer[1]["code"] == "not_found"


def test_an_id_belongs_to_one_repair_only(phone: APIClient, repair: Repair, crew: Crew) -> None:
    """The id of an event of one repair cannot be used for another."""
    other = AssignmentFactory(
        repair=RepairFactory(), crew=crew, starts_at=now() + timedelta(days=3)
    ).repair
    sent = arrived(repair)
    post_event(phone, sent)

    answer = post_event(phone, {**sent, "subject": str(other.id)})

    assert answer.json()["code"] == "same_id_other_body"


def test_words_not_understood_are_kept_and_named(phone: APIClient, repair: Repair) -> None:
    """A fact is not refused for a word too many."""
    answer = post_event(phone, event(repair.id, "arrived", now(), {"weather": "rain"}))

    assert answer.json()["not_understood"] == ["weather"]
    assert FieldEvent.objects.get().data == {"not_understood": {"weather": "rain"}}


def test_a_quantity_is_stored_in_si(phone: APIClient, repair: Repair) -> None:
    """What came in psi is kept in kilopascals (NIST SP 811, appendix B.8)."""
    post_event(phone, event(repair.id, "inflated", now(), {"pressure": quantity(4.8, "psi")}))

    assert FieldEvent.objects.get().data["pressure_kpa"] == pytest.approx(33.0948, abs=1e-3)


def test_the_devices_clock_is_kept_as_an_interval(phone: APIClient, repair: Repair) -> None:
    """A phone an hour fast is known to be so; a silent one is believed within the contract."""
    fast = (now() + timedelta(hours=1)).isoformat()
    post_event(phone, arrived(repair), **{"Device-Time": fast})
    told = FieldEvent.objects.get()
    post_event(phone, arrived(repair))
    silent = FieldEvent.objects.exclude(pk=told.pk).get()

    assert told.clock_verified
    assert told.offset_low_s < -3600 < told.offset_high_s + 5
    assert told.offset_high_s - told.offset_low_s == pytest.approx(30)
    assert not silent.clock_verified
    assert (silent.offset_low_s, silent.offset_high_s) == (-300.0, 300.0)


def test_the_stage_follows_the_events(phone: APIClient, repair: Repair) -> None:
    """The list, the repair and its progress say the same stage."""
    post_event(phone, arrived(repair))

    listed = phone.get(f"{API}/repairs", {"stage": "on site"}).json()["results"]
    progress = phone.get(f"{API}/repairs/{repair.id}/progress").json()

    assert [row["id"] for row in listed] == [str(repair.id)]
    assert (progress["stage"], [step["kind"] for step in progress["steps"]]) == (
        "on site",
        ["arrived"],
    )


def test_a_correction_replaces_what_it_names(phone: APIClient, repair: Repair) -> None:
    """Both stay stored; the progress shows the correction only."""
    wrong = arrived(repair)
    right = arrived(repair, corrects=wrong["id"])

    post_batch(phone, [right, wrong])

    steps = phone.get(f"{API}/repairs/{repair.id}/progress").json()["steps"]
    assert [step["id"] for step in steps] == [right["id"]]
    assert FieldEvent.objects.count() == 2


def test_an_event_is_never_changed_or_deleted(repair: Repair, phone: APIClient) -> None:
    """The record itself refuses, whoever asks."""
    post_event(phone, arrived(repair))
    row = FieldEvent.objects.get()

    with pytest.raises(TypeError, match="never deleted"):
        row.delete()
    row.kind = "left"
    with pytest.raises(Exception, match=r"(?i)unique|duplicate"):
        row.save()


@pytest.mark.parametrize(
    ("kind", "data", "remark"),
    [
        (
            "pressure_read",
            {"pressure": {"value": 480, "unit": "psi"}},
            "a pressure of 3309.5 kPa (480.00 psi) is hardly right",
        ),
        (
            "temperature_read",
            {"temperature": {"value": 700, "unit": "degF"}, "where": "pipe_wall"},
            "a temperature of 371.1 °C (700.0 °F) is hardly right",
        ),
        (
            "placed",
            {"distance": {"value": 400, "unit": "m"}, "datum": "AP-UP"},
            "400.0 m (1312.34 ft) is beyond the end of the run: 40.0 m (131.23 ft)",
        ),
    ],
)
def test_a_value_that_hardly_can_be_is_stored_and_remarked(
    phone: APIClient, repair: Repair, kind: str, data: dict[str, Any], remark: str
) -> None:
    """A slip of the unit is cheapest to mend in the street."""
    answer = post_event(phone, event(repair.id, kind, now(), data))

    assert answer.status_code == 201, answer.json()
    assert remark in answer.json()["remarks"]


def test_an_event_ahead_of_now_is_remarked(phone: APIClient, repair: Repair) -> None:
    """Seven hours ahead, by a phone whose clock is right: somebody mistyped it."""
    ahead = event(repair.id, "arrived", now() + timedelta(hours=7))

    answer = post_event(phone, ahead, **{"Device-Time": now().isoformat()})

    found = [each for each in answer.json()["remarks"] if "min ahead of now" in each]
    assert len(found) == 1
