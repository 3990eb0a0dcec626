"""Who sees the page of a repair, and how much of it."""

import pytest

from repairs.models import Account
from tests.factories import AccountFactory, RepairFactory
from tests.live_repair import a_live_repair
from tests.page_reader import client_of, look
from tests.proof_factories import (
    AssignmentFactory,
    ClosingFactory,
    EvidenceFactory,
    NonconformanceFactory,
    PrescriptionFactory,
)


def address(repair: object) -> str:
    """Return the page of a repair."""
    return f"/repairs/{repair.pk}"  # type: ignore[attr-defined]


@pytest.mark.django_db
@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "administrator"])
def test_the_office_sees_every_repair(who: str, request: pytest.FixtureRequest) -> None:
    """Whoever plans or judges may look at any of them."""
    repair = RepairFactory(ref="REP-ANY")

    assert "REP-ANY" in look(request.getfixturevalue(who), address(repair)).text


def test_a_crew_sees_its_own_and_no_other(crew_lead: Account, other_crew_lead: Account) -> None:
    """Another crew's repair is not there, with the same words as one that never was."""
    repair = RepairFactory(ref="REP-MINE")
    AssignmentFactory(repair=repair, crew=crew_lead.crew_member.crew)

    assert "REP-MINE" in look(crew_lead, address(repair)).text
    assert "Not found" in look(other_crew_lead, address(repair), status=404).text


def test_a_client_sees_its_own_and_no_other(client_user: Account, stranger_client: Account) -> None:
    """Another town's repair does not exist."""
    repair = RepairFactory(ref="REP-TOWN", customer=client_user.customer)

    assert "REP-TOWN" in look(client_user, address(repair)).text
    look(stranger_client, address(repair), status=404)


@pytest.mark.django_db
def test_a_stranger_signs_in_first() -> None:
    """Without a session the page leads to the form, whether the repair exists or not."""
    repair = RepairFactory()

    assert client_of(None).get(address(repair))["Location"] == f"/login?next={address(repair)}"


def test_a_program_has_no_eyes(service_account: Account) -> None:
    """A service account is turned away; it has the API."""
    look(service_account, address(RepairFactory()), status=403)


def test_a_client_sees_no_inside_matters(client_user: Account) -> None:
    """Prescription, nonconformances and hold points stay with the contractor."""
    repair = RepairFactory(customer=client_user.customer)
    PrescriptionFactory(repair=repair)
    NonconformanceFactory(repair=repair, words="an inside matter")
    AssignmentFactory(repair=repair)

    text = look(client_user, address(repair)).text

    assert "Prescription" not in text
    assert "inside matter" not in text
    assert "Next step" not in text


def test_a_client_sees_files_once_they_are_handed_over(client_user: Account) -> None:
    """Before closing the evidence is the contractor's; after it the client reads it."""
    repair = RepairFactory(customer=client_user.customer)
    EvidenceFactory(repair=repair, title="Invented film")

    assert "Invented film" not in look(client_user, address(repair)).text
    ClosingFactory(repair=repair)
    assert "Invented film" in look(client_user, address(repair)).text


@pytest.mark.django_db
def test_a_crew_member_reads_the_same_page() -> None:
    """Whoever is in the crew sees what its lead sees."""
    live = a_live_repair(until="arrived", ago_min=1)
    other = AccountFactory(role="crew_member")
    live.crew.members.create(name="Invented second", account=other)

    assert "Next step Make the site safe" in look(other, address(live.repair)).text
