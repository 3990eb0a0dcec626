"""Packages: found again, read in a minute, accepted or returned without losing a word."""

from datetime import timedelta

import pytest

from qa.models import ClientAnswer
from repairs.models import Account, Repair
from repairs.pages.clock_words import moment
from tests.callers import API, signed_in
from tests.factories import now
from tests.finished_package import a_package
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import (
    ClientAnswerFactory,
    EvidenceFactory,
    NonconformanceFactory,
    WaiverFactory,
)

ZONE = "CET"


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


def test_what_was_let_go_is_said_first(client_user: Account) -> None:
    """A waived requirement stands above everything else, by whom and why."""
    package = a_package(client_user)

    text = look(client_user, f"/packages/{package.pk}").text

    assert "1 requirement let go without proof" in text
    assert "Let go by Invented Person, engineer: seen on the film" in text
    assert text.index("let go without proof") < text.index("1 of 2 requirements are proved.")
    assert "1 waived" in look(client_user, "/packages").text


def test_who_wrote_a_waiver_down_stands_beside_who_let_it_go(
    client_user: Account, reviewer: Account
) -> None:
    """The engineer signed nothing himself: the reviewer typed it, and when; on the site's clock."""
    package = a_package(client_user)
    closing = package.closing
    at = closing.closed_at - timedelta(minutes=5)
    WaiverFactory(
        repair=closing.repair, requirement="wet_out_photo", recorded_by=reviewer, recorded_at=at
    )

    text = look(client_user, f"/packages/{package.pk}").text

    said = f"(written down by {reviewer.display_name} on {moment(at, ZONE)})"
    assert text.count(said) == 2  # in short, and at the requirement
    assert closing.repair.run.site.time_zone == ZONE


def test_who_accepted_as_is_and_who_wrote_that_down(
    client_user: Account, reviewer: Account
) -> None:
    """Two people: the client's engineer accepted, the reviewer decided, at that time."""
    package = a_package(client_user)
    at = package.closing.closed_at - timedelta(minutes=5)
    NonconformanceFactory(
        repair=package.closing.repair, words="it leaked", opened_at=at, disposition="accept as is",
        disposition_reason="a hair crack", accepted_by_name="Ina Invented",
        accepted_by_role="client's engineer", decided_by=reviewer, decided_at=at,
    )  # fmt: skip

    text = look(client_user, f"/packages/{package.pk}").text

    assert "Accept as is by Ina Invented, client's engineer: a hair crack." in text
    assert f"Written down by {reviewer.display_name}, reviewer on {moment(at, ZONE)}." in text


def test_a_decided_nonconformance_is_said(client_user: Account) -> None:
    """What was not as required and was decided on stands there as in the report."""
    package = a_package(client_user)
    repair = package.closing.repair
    before = package.closing.closed_at - timedelta(hours=1)
    NonconformanceFactory(
        repair=repair, words="it leaked", opened_at=before, disposition="accept as is",
        disposition_reason="a hair crack", root_cause="frost",
    )  # fmt: skip
    NonconformanceFactory(
        repair=repair, code="other", words="a false alarm", opened_at=before, withdrawn_at=now()
    )

    text = look(client_user, f"/packages/{package.pk}").text

    assert "It leaked. Decided: Accept as is: a hair crack. It came from: Frost." in text
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
    assert row.reasons == [
        {"requirement": "hold_test", "note": "gauge not readable", "code": "other"}
    ]
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
            "Hold test of the packer: It is too long: 2001 characters, at most 2000.",
        ),
        (
            {"answer": "returned", "note": "typed", "reason-hold_test": "a\x00b"},
            "Hold test of the packer: It holds a character that cannot be stored.",
        ),
        (
            {"answer": "accepted", "note": "y" * 5001},
            "Note: It is too long: 5001 characters, at most 5000.",
        ),
        (
            {
                "answer": "returned",
                "note": "typed",
                "reason-hold_test": "gauge",
                "timecode-hold_test": "soon",
            },
            "Hold test of the packer, place in the film: Write the place in the film as 01:23",
        ),
        (
            {
                "answer": "returned",
                "note": "typed",
                "reason-hold_test": "gauge",
                "code-hold_test": "ugly",
            },
            "Hold test of the packer, kind of reason: Choose one of the kinds.",
        ),
        (  # the words of another requirement do not let this one be lost
            {
                "answer": "returned",
                "note": "typed",
                "reason-hold_test": "gauge",
                "code-wet_out_photo": "unreadable",
            },
            "Say in words what is wrong, or take back the kind and the place.",
        ),
        (
            {
                "answer": "returned",
                "note": "typed",
                "reason-hold_test": "gauge",
                "timecode-wet_out_photo": "00:01",
            },
            "Say in words what is wrong, or take back the kind and the place.",
        ),
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


def test_a_place_beyond_the_film_is_refused_with_its_length(client_user: Account) -> None:
    """At the page by its box, at the API by its field; the film's last second is a place in it."""
    package = a_package(client_user)
    repair, closed = package.closing.repair, package.closing.closed_at
    for kind, lasts in (("pre_repair_film", 2.0), ("post_repair_film", 62.4), ("wet_out_photo", 0)):
        facts = {"duration_s": lasts} if lasts else {}
        EvidenceFactory(repair=repair, kind=kind, facts=facts, received_at=closed)
    reason = {"requirement": "hold_test", "note": "look"}
    typed = {"answer": "returned", "reason-hold_test": "look", "timecode-hold_test": "99:59:59"}
    body = {"answer": "returned", "reasons": [{**reason, "timecode": "1:04"}]}
    api = signed_in(client_user)

    page = page_of(client_of(client_user).post(f"/packages/{package.pk}", typed), status=422)
    refused = api.post(f"{API}/packages/{package.pk}/answer", body)
    body["reasons"] = [{**reason, "timecode": "1:03"}]
    taken = api.post(f"{API}/packages/{package.pk}/answer", body)

    ends = "a place within the longest film of the package, which ends at 1:03"
    assert f"99:59:59 is not {ends}." in page.text
    assert page.typed["timecode-hold_test"] == "99:59:59"
    (error,) = refused.json()["errors"]
    assert (refused.status_code, error["field"]) == (422, "reasons[0].timecode")
    assert ends in error["expected"]
    assert taken.status_code == 201


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
