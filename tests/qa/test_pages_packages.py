"""Packages: found again, read in a minute, accepted or returned without losing a word."""

from datetime import timedelta
from typing import Any

import pytest

from qa.models import ClientAnswer, CloseoutPackage
from qa.pages.package_list import A_PAGE
from repairs.models import Account, Repair
from tests.factories import RepairFactory, now
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import (
    ClientAnswerFactory,
    CloseoutPackageFactory,
    ClosingFactory,
    EvidenceFactory,
    NonconformanceFactory,
)

WAIVER = {"name": "Invented Person", "role": "engineer", "reason": "seen on the film"}
VERDICTS = [
    {"code": "hold_test", "outcome": "met", "reason": "it held"},
    {"code": "wet_out_photo", "outcome": "incomplete", "reason": "no photo", "waiver": WAIVER},
]


def a_package(account: Account, ref: str = "REP-1", **given: Any) -> CloseoutPackage:
    """Return a finished package of the account's town."""
    repair = RepairFactory(customer=account.customer, ref=ref)
    closing = ClosingFactory(repair=repair, verdicts=VERDICTS)
    given.setdefault("ready_at", now())
    return CloseoutPackageFactory(closing=closing, sha256="ab" * 32, size_bytes=2_000_000, **given)


def test_a_client_finds_its_own_packages_and_no_others(
    client_user: Account, stranger_client: Account
) -> None:
    """The list holds one's own town; another town's package is not there."""
    package = a_package(client_user)

    assert f"/packages/{package.pk}" in look(client_user, "/packages").links
    assert "There is no package yet" in look(stranger_client, "/packages").text
    assert "Not found" in look(stranger_client, f"/packages/{package.pk}", status=404).text


def test_another_towns_package_is_not_answered(
    client_user: Account, stranger_client: Account
) -> None:
    """Posting to it is answered as if it never was, and nothing is stored."""
    package = a_package(client_user)

    answer = client_of(stranger_client).post(f"/packages/{package.pk}", {"answer": "accepted"})

    assert answer.status_code == 404
    assert not ClientAnswer.objects.exists()


@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "administrator"])
def test_the_office_reads_all_and_answers_none(
    who: str, request: pytest.FixtureRequest, client_user: Account
) -> None:
    """The contractor sees every package; the answer is the client's alone."""
    package, office = a_package(client_user), request.getfixturevalue(who)

    assert f"/packages/{package.pk}" in look(office, "/packages").links
    assert "Your answer" not in look(office, f"/packages/{package.pk}").text
    answer = client_of(office).post(f"/packages/{package.pk}", {"answer": "accepted"})
    assert answer.status_code == 403
    assert not ClientAnswer.objects.exists()


@pytest.mark.parametrize("who", ["crew_lead", "crew_member", "service_account"])
def test_crews_and_programs_have_no_packages(who: str, request: pytest.FixtureRequest) -> None:
    """Packages are between office and client."""
    look(request.getfixturevalue(who), "/packages", status=403)


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


def test_what_was_let_go_is_said_first(client_user: Account) -> None:
    """A waived requirement stands above everything else, by whom and why."""
    package = a_package(client_user)

    text = look(client_user, f"/packages/{package.pk}").text

    assert "1 requirement let go without proof" in text
    assert "Let go by Invented Person, engineer: seen on the film" in text
    assert text.index("let go without proof") < text.index("1 of 2 requirements are proved.")
    assert "1 waived" in look(client_user, "/packages").text


def test_a_decided_nonconformance_is_said(client_user: Account) -> None:
    """What was not as required and was decided on stands there as in the report."""
    package = a_package(client_user)
    repair = package.closing.repair
    before = package.closing.closed_at - timedelta(hours=1)
    NonconformanceFactory(
        repair=repair, words="it leaked", opened_at=before, disposition="accept as is",
        disposition_reason="a hair crack",
    )  # fmt: skip
    NonconformanceFactory(
        repair=repair, code="other", words="a false alarm", opened_at=before, withdrawn_at=now()
    )

    text = look(client_user, f"/packages/{package.pk}").text

    assert "It leaked. Decided: Accept as is: a hair crack." in text
    assert "false alarm" not in text


def test_a_package_says_what_is_in_it_and_where_to_fetch_it(client_user: Account) -> None:
    """Files, size, hash and the download stand there."""
    package = a_package(client_user)
    closed = package.closing.closed_at
    EvidenceFactory(repair=package.closing.repair, file_name="mark.jpg", received_at=closed)

    page = look(client_user, f"/packages/{package.pk}")

    assert f"/api/v1/packages/{package.pk}/file" in page.links
    assert "ab" * 32 in page.text
    assert "1.9 MB" in page.text
    assert "report.pdf" in page.text
    assert "mark.jpg" in page.text


def test_a_package_under_construction_cannot_be_answered(client_user: Account) -> None:
    """While it is being built there is nothing to fetch, and an answer is refused in words."""
    package = a_package(client_user, ready_at=None)

    page = look(client_user, f"/packages/{package.pk}")
    answer = client_of(client_user).post(f"/packages/{package.pk}", {"answer": "accepted"})

    assert "It is being built." in page.text
    assert "Your answer" not in page.text
    assert "still being built" in page_of(answer, status=409).text
    assert not ClientAnswer.objects.exists()


def test_a_client_accepts(client_user: Account) -> None:
    """Accepting is stored with the note, and shown with name and time."""
    package = a_package(client_user)

    answer = client_of(client_user).post(
        f"/packages/{package.pk}", {"answer": "accepted", "note": "thank you"}
    )

    assert (answer.status_code, answer["Location"]) == (302, f"/packages/{package.pk}")
    row = ClientAnswer.objects.get()
    assert (row.answer, row.reasons, row.note) == ("accepted", [], "thank you")
    text = look(client_user, f"/packages/{package.pk}").text
    assert f"Accepted by {client_user.display_name}" in text
    assert "Your answer" not in text


def test_a_client_returns_with_reasons(client_user: Account) -> None:
    """Each requirement something was written about is a reason; the repair opens again."""
    package = a_package(client_user)
    typed = {
        "answer": "returned",
        "reason-hold_test": "gauge not readable",
        "reason-wet_out_photo": " ",
    }

    client_of(client_user).post(f"/packages/{package.pk}", typed)

    row = ClientAnswer.objects.get()
    assert row.reasons == [{"requirement": "hold_test", "note": "gauge not readable"}]
    assert Repair.objects.get(pk=package.closing.repair.pk).attempt == 2
    assert (
        "Hold test of the packer gauge not readable"
        in look(client_user, f"/packages/{package.pk}").text
    )


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"answer": "returned", "note": "typed"}, "Write at least one reason"),  # nothing is wrong
        ({"answer": "maybe", "note": "typed"}, "Choose one of the two answers"),
        ({"note": "typed"}, "Choose one of the two answers"),
        (
            {"answer": "returned", "note": "typed", "reason-hold_test": "x" * 2001},
            "too long",
        ),
        ({"answer": "returned", "note": "typed", "reason-hold_test": "a\x00b"}, "cannot be stored"),
        ({"answer": "accepted", "note": "y" * 5001}, "too long"),
    ],
)
def test_a_wrong_answer_loses_nothing_that_was_typed(
    client_user: Account, sent: dict[str, str], says: str
) -> None:
    """Whatever is wrong is said, everything typed is still there, and nothing is stored."""
    package = a_package(client_user)

    page = page_of(client_of(client_user).post(f"/packages/{package.pk}", sent), status=422)

    assert says in page.text
    assert sent["note"] in (page.typed["return-note"], page.typed["accept-note"])
    assert page.typed["reason-hold_test"].replace("\ufffd", "\x00") == sent.get(
        "reason-hold_test", ""
    )
    assert not ClientAnswer.objects.exists()


def test_a_second_answer_is_refused_in_words(client_user: Account) -> None:
    """Two people of a town at once: the second reads that it has been answered."""
    package = a_package(client_user)
    ClientAnswerFactory(package=package)

    answer = client_of(client_user).post(
        f"/packages/{package.pk}", {"answer": "returned", "reason-hold_test": "too late"}
    )

    assert "answered already" in page_of(answer, status=409).text
    assert ClientAnswer.objects.get().answer == "accepted"


def test_hostile_words_stay_words(client_user: Account) -> None:
    """Markup in references, reasons and typed notes is shown, not obeyed."""
    hostile = '"></textarea><script>alert(1)</script>'
    package = a_package(client_user, ref="<b>ref</b>", file_name="<i>.zip")
    typed = {"answer": "returned", "note": hostile, "reason-hold_test": hostile}

    page = page_of(
        client_of(client_user).post(f"/packages/{package.pk}", {**typed, "answer": "no"}),
        status=422,
    )
    client_of(client_user).post(f"/packages/{package.pk}", typed)

    assert page.typed["reason-hold_test"] == hostile
    assert "<b>ref</b>" in page.text
    assert look(client_user, f"/packages/{package.pk}").text.count(hostile) == 2
    assert "<b>ref</b>" in look(client_user, "/packages").text
