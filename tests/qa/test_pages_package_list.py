"""The list of packages: hundreds of them, found by state, reference, run, street or order."""

from datetime import timedelta

import pytest

from qa.pages.package_list import A_PAGE
from repairs.models import Account, Repair
from tests.factories import now
from tests.finished_package import a_package
from tests.page_reader import look
from tests.proof_factories import ClientAnswerFactory


@pytest.mark.parametrize(
    ("state", "refs"),
    [
        ("", {"REP-BUILT", "REP-NEW", "REP-YES", "REP-NO"}),
        ("being built", {"REP-NEW"}),
        ("waiting for an answer", {"REP-BUILT"}),
        ("accepted", {"REP-YES"}),
        ("returned", {"REP-NO"}),
        ("eaten", {"REP-BUILT", "REP-NEW", "REP-YES", "REP-NO"}),  # no such state: all, and a word
    ],
)
def test_packages_are_found_by_state(client_user: Account, state: str, refs: set[str]) -> None:
    """Each package is in exactly one state."""
    a_package(client_user, "REP-BUILT")
    a_package(client_user, "REP-NEW", ready_at=None)
    ClientAnswerFactory(package=a_package(client_user, "REP-YES"))
    ClientAnswerFactory(package=a_package(client_user, "REP-NO"), answer="returned")

    page = look(client_user, f"/packages?state={state}")

    assert {
        ref for ref in ("REP-BUILT", "REP-NEW", "REP-YES", "REP-NO") if ref in page.text
    } == refs
    assert ("cannot be looked for" in page.text) is (state == "eaten")


@pytest.mark.parametrize(
    ("find", "there"),
    [
        ("rep-77", True),  # the reference, however it is typed
        ("RUN-77", True),  # the run
        ("seventy", True),  # a part of the street
        ("WO-77", True),  # the order
        ("  REP-77  ", True),  # with spaces around it
        ("REP-78", False),
        ("%", False),  # no wildcard
    ],
)
def test_packages_are_found_by_their_words(client_user: Account, find: str, there: bool) -> None:
    """Reference, run, street and order find a package; the word stays in the box."""
    package = a_package(client_user, "REP-77")
    _rename(package.closing.repair)

    page = look(client_user, f"/packages?find={find.replace('%', '%25')}")

    assert (f"/packages/{package.pk}" in page.links) is there
    assert page.typed["find"] == find.strip()


def _rename(repair: Repair) -> None:
    repair.run.ref, repair.run.site.street = "RUN-77", "Street Seventy-Seven"
    repair.work_order.number = "WO-77"
    for row in (repair.run, repair.run.site, repair.work_order):
        row.save()


@pytest.mark.parametrize("find", ["x" * 101, "%00"])
def test_what_cannot_be_looked_for_is_said(client_user: Account, find: str) -> None:
    """Too long or unstorable words are no error of the server's."""
    assert "cannot be looked for" in look(client_user, f"/packages?find={find}").text


def test_hundreds_of_packages_come_in_pages(client_user: Account) -> None:
    """A page holds 25, the newest first; the way to older ones keeps the filter."""
    for number in range(A_PAGE + 1):
        at = now() - timedelta(minutes=A_PAGE - number)
        a_package(client_user, f"REP-{number:03d}", requested_at=at)

    page = look(client_user, "/packages?find=REP")

    assert f"REP-{A_PAGE:03d}" in page.text
    assert "REP-000" not in page.text
    assert "?find=REP&page=2" in page.links
    assert "REP-000" in look(client_user, "/packages?find=REP&page=2").text
    assert "REP-000" in look(client_user, "/packages?find=REP&page=999").text
