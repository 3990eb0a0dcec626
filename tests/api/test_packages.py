"""The closeout package: watched, fetched, accepted, or returned so that the repair opens again."""

import io
import zipfile
from typing import Any

import bagit
import geojson
import pytest

from qa.models import ClientAnswer, CloseoutPackage
from qa.services.build_package import build
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import AccountFactory, CustomerFactory, now
from tests.field_sequence import event
from tests.proof_factories import CloseoutPackageFactory
from tests.proved_repair import (
    ProvedRepair,
    a_proved_repair,
    assigned,
    do_due_work,
    prescribed,
)

pytestmark = pytest.mark.django_db
RETURNED = {
    "answer": "returned",
    "reasons": [{"requirement": "surface_in_order", "note": "the end stands off"}],
}


class Handover:
    """A closed repair with its package built, and the client who gets it."""

    def __init__(self, proved: ProvedRepair, client: Account) -> None:
        self.proved = proved
        self.client = client
        answer = signed_in(proved.reviewer).post(f"{API}/repairs/{proved.repair.id}/close")
        assert answer.status_code == 201, answer.json()
        self.package = answer.json()["package"]
        do_due_work()

    @property
    def address(self) -> str:
        """Where the package is asked for."""
        return f"{API}/packages/{self.package}"


@pytest.fixture(scope="module")
def handover(
    module_rows: None,  # noqa: ARG001 - keeps the rows
    tmp_path_factory: pytest.TempPathFactory,
) -> Handover:
    """Return one package for all tests of this file."""
    customer = CustomerFactory()
    client = AccountFactory(role=Role.CLIENT.value, customer=customer)
    proved = a_proved_repair(tmp_path_factory.mktemp("evidence"), customer=customer)
    return Handover(proved, client)


def fetched(handover: Handover) -> bytes:
    """Return the package's bytes as its client gets them."""
    answer = signed_in(handover.client).get(f"{handover.address}/file")
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def test_the_client_sees_and_fetches_its_package(handover: Handover) -> None:
    """Built to the end, with size and hash, as a zip to download."""
    shown = signed_in(handover.client).get(handover.address).json()
    answer = signed_in(handover.client).get(f"{handover.address}/file")

    assert (shown["progress_percent"], shown["answer"]) == (100, None)
    assert shown["size_bytes"] == len(b"".join(answer.streaming_content))
    assert answer["Content-Type"] == "application/zip"
    assert answer["Content-Disposition"].startswith("attachment")


def test_the_bag_is_valid_by_an_outside_library(
    handover: Handover, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The Library of Congress' own `bagit` finds every file and every hash in order."""
    folder = tmp_path_factory.mktemp("bag")
    with zipfile.ZipFile(io.BytesIO(fetched(handover))) as archive:
        archive.extractall(folder)
    (root,) = folder.iterdir()

    bag = bagit.Bag(str(root))

    assert bag.is_valid()
    places = list(root.rglob("*.geojson"))
    assert places
    assert geojson.loads(places[0].read_text()).is_valid


def test_a_package_still_being_built_is_not_ready(handover: Handover) -> None:
    """It can be watched, but neither fetched nor answered."""
    town = signed_in(handover.client)
    closing = CloseoutPackage.objects.get(pk=handover.package).closing
    other = CloseoutPackageFactory(
        closing__repair=closing.repair, closing__attempt=2, ready_at=None
    )
    address = f"{API}/packages/{other.id}"

    assert town.get(address).json()["progress_percent"] == 0
    for answer in (town.get(f"{address}/file"), town.post(f"{address}/answer", RETURNED)):
        assert (answer.status_code, answer.json()["code"]) in (
            (409, "not_ready"),
            (422, "malformed"),
        )
    accepted = town.post(f"{address}/answer", {"answer": "accepted"})
    assert accepted.json()["code"] == "not_ready"
    assert accepted.json()["progress_percent"] == 0
    assert town.get(f"{address}/file").json()["progress_percent"] == 0


def test_an_accepted_repair_stays_closed(handover: Handover) -> None:
    """The answer is kept, the repair stands as accepted, and there is no second answer."""
    town = signed_in(handover.client)

    answer = town.post(f"{handover.address}/answer", {"answer": "accepted"})
    again = town.post(f"{handover.address}/answer", RETURNED)

    assert answer.status_code == 201
    assert town.get(handover.address).json()["answer"] == "accepted"
    repair = Repair.objects.get(pk=handover.proved.repair.pk)
    assert (repair.stage, repair.attempt) == ("accepted", 1)
    assert (again.status_code, again.json()["code"]) == (409, "already_answered")


def test_a_returned_repair_opens_again(handover: Handover) -> None:
    """A second attempt begins; the first one keeps its history, package and verdicts."""
    office = signed_in(handover.proved.dispatcher)
    town = signed_in(handover.client)
    address = f"{API}/repairs/{handover.proved.repair.id}"

    answer = town.post(f"{handover.address}/answer", RETURNED)

    assert answer.status_code == 201
    shown = town.get(address).json()
    assert (shown["stage"], shown["attempt"]) == ("returned", 2)
    first = office.get(f"{address}/progress", {"attempt": 1}).json()
    second = office.get(f"{address}/progress").json()
    assert (first["stage"], len(first["steps"])) == ("returned", 19)
    assert (second["stage"], second["steps"]) == ("returned", [])
    verdicts = office.get(f"{address}/verdicts").json()["verdicts"]
    # What was done in the pipe still stands; what it was returned for asks for something new.
    unproved = {each["code"]: each["reason"] for each in verdicts if each["outcome"] != "met"}
    assert unproved == {"surface_in_order": "the client returned it: the end stands off"}


def test_the_second_attempt_is_planned_and_reported_like_the_first(handover: Handover) -> None:
    """A new prescription, a new assignment, and new events count for attempt two alone."""
    proved = handover.proved
    signed_in(handover.client).post(f"{handover.address}/answer", RETURNED)
    proved.repair.refresh_from_db()

    done = prescribed(proved.dispatcher, proved.repair)
    assigned(proved.dispatcher, proved.repair, proved.crew, now())
    phone = with_token(proved.lead)
    post_event(phone, event(proved.repair.id, "arrived", now()))
    late = event(proved.repair.id, "held", now(), {"reason": "late word"}, attempt=1)
    post_event(phone, late)

    shown = phone.get(f"{API}/repairs/{proved.repair.id}/progress").json()
    assert done["attempt"] == 2
    assert (shown["attempt"], shown["stage"], shown["on_hold"]) == (2, "on site", "")


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"answer": "returned"}, "reasons"),  # nobody returns without saying why
        ({"answer": "returned", "reasons": []}, "reasons"),
        (
            {"answer": "returned", "reasons": [{"requirement": "lunch", "note": "x"}]},
            "reasons[0].requirement",
        ),
        (
            {"answer": "returned", "reasons": [{"requirement": "hold_test"}]},
            "reasons[0].note",
        ),
        (
            {"answer": "accepted", "reasons": [{"requirement": "hold_test", "note": "x"}]},
            "reasons",
        ),
        ({"answer": "perhaps"}, "answer"),
        ({}, "answer"),
    ],
)
def test_an_answer_must_make_sense(handover: Handover, body: dict[str, Any], field: str) -> None:
    """What is missing or unknown is named; nothing is recorded."""
    answer = signed_in(handover.client).post(f"{handover.address}/answer", body)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field
    assert ClientAnswer.objects.count() == 0


def test_the_same_closing_gives_the_same_bytes(handover: Handover) -> None:
    """Built again after a crash, the package is the same file."""
    before = fetched(handover)
    first = CloseoutPackage.objects.get(pk=handover.package)

    written = build(package_id=first.pk, lease=OwnLease(), now=now())

    assert fetched(handover) == before
    assert (written.sha256, written.size) == (first.sha256, first.size_bytes)


class OwnLease:
    """The lease of the only runner there is: nobody can take it over."""

    def check(self) -> None:
        """Still ours."""

    def report(self, percent: int) -> None:
        """Nobody watches."""
