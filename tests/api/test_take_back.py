"""A file handed in by mistake is taken back: it stays on record and proves nothing."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from rest_framework.test import APIClient

from dispatch.models import Crew
from qa.facts import facts_of
from qa.models import Evidence
from repairs.models import Account, Repair
from tests.api.test_evidence import hand_in
from tests.api.test_problems import check
from tests.callers import API, signed_in, with_token
from tests.factories import RepairFactory, now
from tests.proof_factories import AssignmentFactory, ClosingFactory, EvidenceFactory
from tests.proved_repair import a_proved_repair, do_due_work

pytestmark = pytest.mark.django_db


@pytest.fixture
def repair(crew: Crew) -> Repair:
    """Return a repair of crew one."""
    return AssignmentFactory(repair=RepairFactory(), crew=crew).repair


@pytest.fixture
def phone(crew_lead: Account) -> APIClient:
    """Return the phone of crew one's lead."""
    return with_token(crew_lead)


def take_back(client: APIClient, evidence_id: str, reason: str = "the wrong repair") -> Any:
    """Ask for a file to be taken back."""
    return client.post(f"{API}/evidence/{evidence_id}/take-back", {"reason": reason})


def files(repair: Repair) -> list[str]:
    """Return the ids of the files that count."""
    facts = facts_of(repair, attempt=repair.attempt, now=now())
    return [each.id for each in facts.evidence]


def test_a_file_taken_back_is_shown_so_and_counts_no_more(
    phone: APIClient, repair: Repair, crew_lead: Account
) -> None:
    """Who, when and why stand beside it; the rules do not look at it."""
    kept = hand_in(phone, repair, content=b"good").json()["id"]
    gone = hand_in(phone, repair, content=b"bad").json()["id"]

    answer = take_back(phone, gone, "somebody's garden")

    assert answer.status_code == 200, answer.content
    listed = phone.get(f"{API}/evidence", {"repair": str(repair.id)}).json()
    told = {row["id"]: (row["taken_back_by"], row["taken_back_reason"]) for row in listed}
    assert told == {kept: (None, ""), gone: (crew_lead.display_name, "somebody's garden")}
    assert {row["id"] for row in listed if row["taken_back_at"]} == {gone}
    assert files(repair) == [kept]


def test_twice_is_once(phone: APIClient, repair: Repair) -> None:
    """The first reason stands."""
    row = hand_in(phone, repair).json()["id"]
    first = take_back(phone, row).json()

    assert take_back(phone, row, "another").json() == first


def test_why_must_be_said(phone: APIClient, repair: Repair) -> None:
    """Nothing vanishes without a reason."""
    row = hand_in(phone, repair).json()["id"]

    check(take_back(phone, row, ""), 422, "malformed")

    assert files(repair) == [row]


def test_what_was_taken_back_may_be_handed_in_again(phone: APIClient, repair: Repair) -> None:
    """The same bytes are a new row then, which counts."""
    first = hand_in(phone, repair).json()["id"]
    take_back(phone, first)

    again = hand_in(phone, repair)

    assert again.status_code == 201
    assert files(repair) == [again.json()["id"]] != [first]


def test_what_a_repair_was_closed_with_stays(phone: APIClient, repair: Repair) -> None:
    """Nobody takes a file back from under a verdict."""
    row = hand_in(phone, repair).json()["id"]
    ClosingFactory(repair=repair)

    check(take_back(phone, row), 409, "already_closed")

    assert Evidence.objects.get().taken_back_at is None


def test_the_office_may_and_another_crew_may_not(
    repair: Repair, reviewer: Account, dispatcher: Account, other_crew_lead: Account
) -> None:
    """Reviewer and dispatcher take back any file; for a crew others' files are not there."""
    rows = [EvidenceFactory(repair=repair) for _ in range(2)]

    check(take_back(with_token(other_crew_lead), str(rows[0].id)), 404, "not_found")
    for account, row in zip((reviewer, dispatcher), rows, strict=True):
        assert take_back(signed_in(account), str(row.id)).status_code == 200


def test_a_client_does_not_see_what_was_taken_back(
    phone: APIClient, repair: Repair, client_user: Account
) -> None:
    """It was never handed over."""
    repair.work_order.customer = client_user.customer
    repair.work_order.save()
    take_back(phone, hand_in(phone, repair, content=b"bad").json()["id"])
    kept = hand_in(phone, repair, content=b"good").json()["id"]
    ClosingFactory(repair=repair, closed_at=now())

    listed = signed_in(client_user).get(f"{API}/evidence", {"repair": str(repair.id)}).json()

    assert [row["id"] for row in listed] == [kept]


@pytest.mark.slow
def test_a_repair_does_not_close_on_a_film_that_was_taken_back(tmp_path: Path) -> None:
    """What was proved by it is open again."""
    proved = a_proved_repair(tmp_path)
    office = signed_in(proved.reviewer)
    before = office.get(f"{API}/repairs/{proved.repair.id}/verdicts").json()

    take_back(with_token(proved.lead), proved.evidence["post_repair_film"])
    do_due_work()
    after = office.get(f"{API}/repairs/{proved.repair.id}/verdicts").json()

    assert (before["may_close"], after["may_close"]) == (True, False)
    open_now = {row["code"] for row in after["verdicts"] if not row["closes"]}
    assert "post_repair_film" in open_now
    check(office.post(f"{API}/repairs/{proved.repair.id}/close"), 409, "not_proved")


def also_used(repair: Repair) -> list[tuple[str, ...]]:
    """Return what the files of a repair were handed in for besides."""
    facts = facts_of(repair, attempt=repair.attempt, now=now())
    return [each.also_used_for for each in facts.evidence]


def test_only_the_later_intake_of_the_same_bytes_is_doubtful() -> None:
    """The repair that showed a photo first does not suffer from another's mistake."""
    first, second = RepairFactory(), RepairFactory()
    same = {"sha256": "ab" * 32}
    EvidenceFactory(repair=first, received_at=now() - timedelta(hours=2), **same)
    EvidenceFactory(repair=second, received_at=now() - timedelta(hours=1), **same)

    assert also_used(first) == [()]
    assert also_used(second) == [(first.ref,)]


def test_a_mistake_that_was_taken_back_makes_nothing_doubtful() -> None:
    """Handed in for the wrong repair, taken back, handed in for the right one."""
    wrong, right = RepairFactory(), RepairFactory()
    same = {"sha256": "cd" * 32}
    at = now() - timedelta(hours=2)
    EvidenceFactory(repair=wrong, received_at=at, taken_back_at=at, **same)
    EvidenceFactory(repair=right, received_at=now() - timedelta(hours=1), **same)

    assert also_used(right) == [()]


def test_of_two_at_the_same_instant_one_is_doubtful() -> None:
    """Never both, never none."""
    repairs = [RepairFactory(), RepairFactory()]
    at = now() - timedelta(hours=1)
    for repair in repairs:
        EvidenceFactory(repair=repair, received_at=at, sha256="ef" * 32)

    assert sorted(len(also_used(repair)[0]) for repair in repairs) == [0, 1]
