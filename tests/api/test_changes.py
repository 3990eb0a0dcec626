"""A phone asks what others changed, and is told each thing once."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rest_framework.test import APIClient

from dispatch.models import Assignment, Crew
from qa.field_state import full_minute
from repairs.models import Account, Repair
from tests.callers import API, post_event, with_token
from tests.factories import RepairFactory, now
from tests.field_sequence import event
from tests.proof_factories import AssignmentFactory, PrescriptionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def _ask(phone: APIClient, since: str = "") -> dict[str, Any]:
    answer = phone.get(f"{API}/changes", {"since": since} if since else {})
    assert answer.status_code == 200, answer.json()
    return dict(answer.json())


def test_first_everything_then_only_what_changed(phone: APIClient, repair: Repair) -> None:
    """An event moves the stage; asking again in between tells nothing."""
    first = _ask(phone)
    quiet = _ask(phone, first["cursor"])
    post_event(phone, event(str(repair.id), "arrived", now()))
    after = _ask(phone, quiet["cursor"])

    assert [each["ref"] for each in first["repairs"]] == [repair.ref]
    assert quiet["repairs"] == quiet["gone"] == []
    assert [each["stage"] for each in after["repairs"]] == ["on site"]
    assert _ask(phone, after["cursor"])["repairs"] == []


def test_what_proof_is_missing_is_told(phone: APIClient, repair: Repair) -> None:
    """With what would settle it, while the crew is still there."""
    assert repair
    missing = _ask(phone)["repairs"][0]["missing"]

    assert {"code", "title", "settle"} == set(missing[0])
    assert all(each["settle"] for each in missing)


def test_a_new_assignment_and_a_new_prescription_are_told(
    phone: APIClient, repair: Repair, crew: Crew
) -> None:
    """The office works while the phone has no signal."""
    seen = _ask(phone)["cursor"]
    other = AssignmentFactory(repair=RepairFactory(), crew=crew, next_day=True).repair
    newer = PrescriptionFactory(repair=repair)
    Assignment.objects.filter(repair=repair).update(prescription=newer)

    told = {each["id"]: each for each in _ask(phone, seen)["repairs"]}

    assert str(other.id) in told


def test_work_that_is_taken_away_is_gone(phone: APIClient, repair: Repair) -> None:
    """Told once, by its id."""
    seen = _ask(phone)["cursor"]
    Assignment.objects.filter(repair=repair).update(cancelled_at=now() - timedelta(minutes=1))

    after = _ask(phone, seen)

    assert after["gone"] == [str(repair.id)]
    assert _ask(phone, after["cursor"])["gone"] == []


def test_a_wrong_cursor_is_told(phone: APIClient) -> None:
    """The field and what would be right; and a misspelt parameter is no parameter."""
    answer = phone.get(f"{API}/changes", {"since": "yesterday"})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "since"
    assert phone.get(f"{API}/changes", {"sinc": ""}).status_code == 422


@given(st.datetimes(min_value=datetime(2020, 1, 1), max_value=datetime(2040, 1, 1)))  # noqa: DTZ001
def test_a_release_is_never_told_too_early(naive: datetime) -> None:
    """The hold is told in full minutes, the first one that is not too early."""
    at = naive.replace(tzinfo=UTC)

    told = datetime.fromisoformat(str(full_minute(at)))

    assert timedelta(0) <= told - at < timedelta(minutes=1)
    assert (told.second, told.microsecond) == (0, 0)
