"""Links that end, reasons with codes and places in films, holds, time of keeping, root causes."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.terms import Terms
from qa.domain.retention import kept
from qa.domain.return_reason import CODES, reason_words
from qa.keeping import kept_of
from qa.models import ClientAnswer, CloseoutPackage, PackageLink
from qa.sealed_files import package_path
from qa.services.share_package import token_of
from repairs.models import Account
from tests.callers import API, signed_in
from tests.factories import AccountFactory, CustomerFactory
from tests.finished_package import a_package
from tests.proof_factories import (
    ClientAnswerFactory,
    EvidenceFactory,
    LegalHoldFactory,
    NonconformanceFactory,
    PackageLinkFactory,
)

BYTES = b"invented zip"


@pytest.fixture
def package(client_user: Account) -> CloseoutPackage:
    """Return a finished package whose bytes are there."""
    made = a_package(client_user)
    path = package_path(made.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(BYTES)
    return made


def fetch(address: str) -> tuple[int, bytes]:
    """Follow a link as somebody without an account."""
    answer = Client().get(address.partition("8000")[2] or address)
    got = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return answer.status_code, got


@pytest.mark.django_db
def test_a_link_gives_the_file_until_it_ends(
    package: CloseoutPackage, client_user: Account
) -> None:
    """No account is asked for; each use is counted; called back it leads nowhere."""
    caller = signed_in(client_user)
    made = caller.post(f"{API}/packages/{package.id}/links", {"hours": 2})
    assert made.status_code == 201, made.json()

    assert fetch(made.json()["address"]) == (200, BYTES)
    assert fetch(made.json()["address"])[0] == 200
    (told,) = caller.get(f"{API}/packages/{package.id}/links").json()
    assert (told["fetched"], told["called_back_at"]) == (2, None)

    caller.post(f"{API}/package-links/{told['id']}/call-back")
    status, page = fetch(made.json()["address"])
    assert status == 404
    assert b"This link leads nowhere" in page


@pytest.mark.django_db
def test_a_link_of_yesterday_or_of_somebodys_making_is_none(package: CloseoutPackage) -> None:
    """Ended by time; a token with another letter, of another row, or of nothing."""
    link = PackageLinkFactory(package=package)
    token = token_of(link)
    assert fetch(f"/shared/{token}")[0] == 200

    PackageLink.objects.filter(pk=link.pk).update(expires_at=datetime(2020, 1, 1, tzinfo=UTC))
    assert fetch(f"/shared/{token}")[0] == 404
    for wrong in (token[:-1] + ("A" if token[-1] != "A" else "B"), str(link.pk), "x"):
        assert fetch(f"/shared/{wrong}")[0] == 404


@pytest.mark.django_db
@pytest.mark.parametrize("hours", [0, 90 * 24 + 1, "soon"])
def test_a_link_ends_within_ninety_days(
    package: CloseoutPackage, client_user: Account, hours: object
) -> None:
    """Longer is for an account."""
    answer = signed_in(client_user).post(f"{API}/packages/{package.id}/links", {"hours": hours})

    assert answer.status_code == 422


@pytest.mark.django_db
def test_a_package_that_is_not_there_is_not_shared(client_user: Account) -> None:
    """Still being built."""
    made = a_package(client_user, ready_at=None)
    answer = signed_in(client_user).post(f"{API}/packages/{made.id}/links", {})

    assert (answer.status_code, answer.json()["code"]) == (409, "not_ready")


@pytest.mark.django_db
def test_a_reason_has_a_code_and_a_place_in_the_film(
    package: CloseoutPackage, client_user: Account
) -> None:
    """The crew reads where to look."""
    reason = {"requirement": "hold_test", "note": "the needle falls", "code": "not_as_required",
              "timecode": "01:23"}  # fmt: skip
    answer = signed_in(client_user).post(
        f"{API}/packages/{package.id}/answer", {"answer": "returned", "reasons": [reason]}
    )

    assert answer.status_code == 201, answer.json()
    assert ClientAnswer.objects.get().reasons == [reason]
    assert reason_words(reason) == (
        "it is shown, and not as required, at 01:23 of the film: the needle falls"
    )


@pytest.mark.django_db
@pytest.mark.parametrize(
    "wrong", [{"code": "ugly"}, {"timecode": "83"}, {"timecode": "1:99"}, {"timecode": ""}]
)
def test_a_wrong_code_or_place_is_named(
    package: CloseoutPackage, client_user: Account, wrong: dict[str, str]
) -> None:
    """Nothing is answered then."""
    reason = {"requirement": "hold_test", "note": "no", **wrong}
    answer = signed_in(client_user).post(
        f"{API}/packages/{package.id}/answer", {"answer": "returned", "reasons": [reason]}
    )

    assert answer.status_code == 422
    assert f"reasons[0].{next(iter(wrong))}" in str(answer.json())
    assert "pattern" not in str(answer.json())
    assert ClientAnswer.objects.count() == 0


def test_a_plain_reason_is_just_its_words() -> None:
    """As they were written before there were codes."""
    assert reason_words({"requirement": "x", "note": "why"}) == "why"
    assert all(reason_words({"code": code, "note": "n"}).endswith("n") for code in CODES)


@pytest.mark.django_db
def test_the_page_takes_codes_and_keeps_what_was_typed(
    package: CloseoutPackage, client_user: Account
) -> None:
    """A wrong place in the film is said, and everything else is still in its box."""
    browser = Client()
    browser.force_login(client_user)
    sent = {"answer": "returned", "reason-hold_test": "look", "code-hold_test": "unreadable",
            "timecode-hold_test": "soon"}  # fmt: skip

    wrong = browser.post(f"/packages/{package.id}", sent)
    right = browser.post(f"/packages/{package.id}", {**sent, "timecode-hold_test": "1:02:03"})

    assert wrong.status_code == 422
    assert b"Write the place in the film as 01:23" in wrong.content
    assert b'value="unreadable" selected' in wrong.content
    assert right.status_code == 302
    assert ClientAnswer.objects.get().reasons == [
        {"requirement": "hold_test", "note": "look", "code": "unreadable", "timecode": "1:02:03"}
    ]


@pytest.mark.django_db
def test_a_package_is_kept_for_the_contracts_years_and_longer_where_it_is_held(
    package: CloseoutPackage, reviewer: Account
) -> None:
    """From the acceptance on; a legal hold keeps it whatever the day."""
    assert kept_of(package).words == "kept: the client has not accepted it"
    ClientAnswerFactory(package=package, answered_at=datetime(2031, 2, 28, 12, tzinfo=UTC))
    assert kept_of(package).words == "kept until 2046-02-28"

    office, order = signed_in(reviewer), package.closing.repair.work_order_id
    hold = office.post(f"{API}/work-orders/{order}/legal-holds", {"reason": "a claim"}).json()
    assert office.get(f"{API}/packages/{package.id}/kept").json() == {
        "until": "2046-02-28", "held": ["a claim"],
        "words": "held: a claim; by the contract until 2046-02-28",
    }  # fmt: skip
    assert not kept_of(package).may_go(date(2050, 1, 1))

    lifted = office.post(f"{API}/legal-holds/{hold['id']}/lift", {"reason": "settled"})
    again = office.post(f"{API}/legal-holds/{hold['id']}/lift", {"reason": "settled"})
    assert (lifted.status_code, again.status_code) == (200, 409)
    assert kept_of(package).may_go(date(2046, 3, 1))


@pytest.mark.django_db
def test_a_client_is_told_that_it_is_held_and_not_why(
    package: CloseoutPackage, client_user: Account
) -> None:
    """The reason is the contractor's own; the contract's day stays to be seen."""
    LegalHoldFactory(work_order=package.closing.repair.work_order, reason="claim of a neighbour")
    LegalHoldFactory(work_order=package.closing.repair.work_order, reason="an audit")
    address = f"{API}/packages/{package.id}/kept"
    before = signed_in(client_user).get(address).json()
    ClientAnswerFactory(package=package, answered_at=datetime(2031, 2, 28, 12, tzinfo=UTC))

    assert before == {"until": None, "held": ["legal hold"], "words": "held: legal hold"}
    assert signed_in(client_user).get(address).json() == {
        "until": "2046-02-28", "held": ["legal hold"],
        "words": "held: legal hold; by the contract until 2046-02-28",
    }  # fmt: skip


@pytest.mark.django_db
def test_the_command_lists_what_is_past_and_deletes_nothing(package: CloseoutPackage) -> None:
    """The last day is still kept."""
    ClientAnswerFactory(package=package, answered_at=datetime(2005, 3, 14, 12, tzinfo=UTC))
    last, after = StringIO(), StringIO()

    call_command("past_keeping", on="2020-03-14", stdout=last)
    call_command("past_keeping", on="2020-03-15", stdout=after)

    assert "0 package(s)" in last.getvalue()
    assert "REP-1: kept until 2020-03-14; packages/" in after.getvalue()
    assert package_path(package.storage_key).exists()
    with pytest.raises(CommandError, match="--on: found 'soon', expected a day"):
        call_command("past_keeping", on="soon")


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(0, 100), st.booleans())
def test_nothing_goes_before_its_day_or_while_it_is_held(
    accepted: date, years: int, is_held: bool
) -> None:
    """For any contract, any day."""
    found = kept(accepted, Terms(retention_years=years), ("a claim",) if is_held else ())

    assert found.until is not None
    assert not found.may_go(found.until)
    assert found.may_go(found.until + timedelta(days=1)) is not is_held
    assert found.until.year == accepted.year + years
    assert not kept(None, Terms(), ()).may_go(date(2999, 1, 1))


@pytest.mark.django_db
def test_a_decision_says_the_root_cause_and_what_shows_it(reviewer: Account) -> None:
    """Only a file of the same repair shows it."""
    row = NonconformanceFactory()
    file, foreign = EvidenceFactory(repair=row.repair), EvidenceFactory()
    office, path = signed_in(reviewer), f"{API}/nonconformances/{row.id}/decision"
    body = {"disposition": "rework", "reason": "again", "root_cause": "film had a hole"}

    wrong = office.post(path, {**body, "evidence": [str(foreign.id)]})
    unknown = office.post(path, {**body, "evidence": [str(uuid4())]})
    right = office.post(path, {**body, "evidence": [str(file.id)]})

    assert (wrong.status_code, unknown.status_code) == (422, 422)
    assert "evidence[0]" in str(wrong.json())
    assert right.status_code == 200, right.json()
    assert (right.json()["root_cause"], right.json()["evidence"]) == (
        "film had a hole", [str(file.id)],
    )  # fmt: skip


@pytest.mark.django_db
def test_another_towns_link_is_not_called_back(package: CloseoutPackage) -> None:
    """It is not there for them."""
    link = PackageLinkFactory(package=package)
    stranger = AccountFactory(role="client", customer=CustomerFactory(code="TOWN-TWO"))
    path = f"{API}/package-links/{link.id}/call-back"

    assert signed_in(stranger).post(path).status_code == 404
