"""What is no field event, or asks what makes no sense, is refused by name and never a 500."""

import json
from typing import Any

import pytest
from rest_framework.test import APIClient

from dispatch.api.field_events import LARGEST_BATCH, LARGEST_BATCH_BYTES
from dispatch.models import Crew
from repairs.models import Account, FieldEvent, Repair
from tests.callers import API, post_batch, post_event, signed_in, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event
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


@pytest.mark.parametrize(("count", "status"), [(LARGEST_BATCH, 200), (LARGEST_BATCH + 1, 422)])
def test_a_batch_holds_at_most_500_events(
    phone: APIClient, repair: Repair, count: int, status: int
) -> None:
    """One more is refused as a whole, and nothing of it is stored."""
    # Not understood items are cheap: the size of the batch is what is asked here.
    batch = [{"id": str(n)} for n in range(count)]

    answer = post_batch(phone, batch)

    assert answer.status_code == status
    if status == 422:
        assert answer.json()["errors"][0]["field"] == "batch"
    else:
        assert len(answer.json()) == count
    assert FieldEvent.objects.filter(repair=repair).count() == 0


def test_more_than_a_megabyte_is_too_large(phone: APIClient, repair: Repair) -> None:
    """One byte beyond the limit is 413; just at the limit it is read."""
    text = json.dumps([arrived(repair)])
    padded = text + " " * (LARGEST_BATCH_BYTES - len(text))

    assert post_batch(phone, padded).status_code == 200
    answer = post_batch(phone, padded + " ")

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ("NaN", 400),
        ('{"data": {"pressure": {"value": NaN, "unit": "psi"}}}', 400),
        ('{"data": Infinity}', 400),
        ("{", 400),
        ("", 422),  # nothing at all is an object without its fields
        (b"\xff\xfe", 400),
        ("[" * 100_000, 400),
        ('{"a": ' * 5000 + "1" + "}" * 5000, 400),
        ("null", 422),
        ('"event"', 422),
        ("7", 422),
        ("{}", 422),
    ],
)
def test_what_is_no_event_is_refused_and_never_a_500(
    phone: APIClient, body: str | bytes, status: int
) -> None:
    """No JSON is 400, JSON that is no event is 422."""
    answer = post_event(phone, body)

    assert answer.status_code == status
    assert answer.json()["code"] == "malformed"


@pytest.mark.parametrize(
    "changed",
    [
        {"data": {"note": "one\x00two"}},
        {"data": {"note": "half \ud83d"}},
        {"source": "pho\x00ne"},
        {"source": "pho\ud83dne"},
        {"data": {"deep": [[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]}},
        {"data": {"big": 10**30}},
        {"\x00": 1},
        {"time": "0001-01-01T00:00:00Z"},
        {"time": "9999-12-31T23:59:59Z"},
        {"attempt": 2},  # nobody returned it: there is no second attempt
        {"attempt": 1000},
    ],
)
def test_what_no_record_can_hold_is_422_on_every_database(
    phone: APIClient, repair: Repair, changed: dict[str, Any]
) -> None:
    """Text, numbers and times that cannot be kept are named, and the repair stays readable."""
    answer = post_event(phone, {**arrived(repair), **changed})

    assert answer.status_code == 422, answer.content
    assert phone.get(f"{API}/repairs/{repair.id}/progress").status_code == 200


def test_a_number_beyond_all_measure_is_refused(phone: APIClient, repair: Repair) -> None:
    """1e400 is infinite once it is read, and no record holds that."""
    text = json.dumps({**arrived(repair), "data": {"note": 0}}).replace(
        '"note": 0', '"note": 1e400'
    )

    answer = post_event(phone, text)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "data"


@pytest.mark.parametrize(
    "told",
    ["now", "2026-11-25T09:30:00", "0001-01-01T00:00:00+00:00", "9999-12-31T00:00:00+00:00"],
)
def test_a_device_time_that_is_none_is_refused(phone: APIClient, repair: Repair, told: str) -> None:
    """Without its offset, or beyond all calendars, it would say nothing."""
    answer = post_event(phone, arrived(repair), **{"Device-Time": told})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "Device-Time"


def test_plain_json_is_taken_too_and_anything_else_is_415(phone: APIClient, repair: Repair) -> None:
    """Three media types are understood; a form is not."""
    body = json.dumps(arrived(repair))
    path = f"{API}/field-events"

    assert phone.post(path, body, content_type="application/json").status_code == 201
    assert phone.post(path, body, content_type="text/plain").status_code == 415


def test_the_filters_of_the_list_look_at_one_assignment(
    dispatcher: Account, crew: Crew, other_crew_lead: Account
) -> None:
    """A repair taken back from one crew and given to another is the other's alone."""
    moved = RepairFactory()
    AssignmentFactory(repair=moved, crew=crew, cancelled_at=now())
    there = other_crew_lead.crew_member.crew
    AssignmentFactory(repair=moved, crew=there)
    office = signed_in(dispatcher)

    def of(code: str) -> list[str]:
        rows = office.get(f"{API}/repairs", {"crew": code}).json()["results"]
        return [row["id"] for row in rows]

    assert of(crew.code) == []
    assert of(there.code) == [str(moved.id)]


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"stage": "lunch"}, "stage"),
        ({"from": "today"}, "from"),
        ({"until": "2026-11-25"}, "until"),
        ({"customer": "a\x00b"}, "customer"),
        ({"crew": "\x00"}, "crew"),
    ],
)
def test_a_filter_that_makes_no_sense_is_named(
    dispatcher: Account, asked: dict[str, str], field: str
) -> None:
    """A mistyped filter is told, never an empty list."""
    answer = signed_in(dispatcher).get(f"{API}/repairs", asked)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field


@pytest.mark.parametrize("asked", ["0", "2", "one", "-1", "9" * 40, "²"])
def test_an_attempt_that_never_was_is_refused(phone: APIClient, repair: Repair, asked: str) -> None:
    """Only attempts from one to the present one can be asked for."""
    answer = phone.get(f"{API}/repairs/{repair.id}/progress", {"attempt": asked})

    assert answer.status_code == 422
