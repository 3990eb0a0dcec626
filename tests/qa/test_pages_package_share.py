"""Sharing, keeping and collecting at the pages: links that end, keys to compare, months."""

from datetime import UTC, datetime, timedelta

import pytest

from qa.models import CollectedPackage, HistoryCheckpoint, PackageLink
from repairs.models import Account
from tests.factories import CustomerFactory, SiteFactory, now
from tests.finished_package import a_package
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import (
    ClientAnswerFactory,
    CollectedPackageFactory,
    LegalHoldFactory,
    PackageLinkFactory,
)


def test_a_link_is_made_listed_and_called_back(client_user: Account) -> None:
    """Its address stands there while it holds, and no longer once it was called back."""
    package = a_package(client_user)
    own = client_of(client_user)

    made = own.post(f"/packages/{package.pk}/share", {"hours": "24"})
    link = PackageLink.objects.get()
    text = look(client_user, f"/packages/{package.pk}").text
    back = own.post(f"/package-links/{link.pk}/call-back")
    after = look(client_user, f"/packages/{package.pk}").text

    assert (made.status_code, made["Location"]) == (302, f"/packages/{package.pk}#share")
    assert link.expires_at - link.made_at == timedelta(hours=24)
    assert "/shared/" in text
    assert "Holds until" in text
    assert "not fetched yet" in text
    assert back.status_code == 302
    assert "/shared/" not in after
    assert "Called back on" in after


def test_an_ended_link_says_so_and_how_often_it_was_used(client_user: Account) -> None:
    """Nobody copies an address that leads nowhere."""
    package = a_package(client_user)
    PackageLinkFactory(
        package=package, expires_at=now() - timedelta(hours=1), fetched=2, last_fetched_at=now()
    )

    text = look(client_user, f"/packages/{package.pk}").text

    assert "Ended on" in text
    assert "fetched 2 times, last on" in text
    assert "/shared/" not in text


@pytest.mark.parametrize("hours", ["", "0", "100000", "soon", "1.5"])
def test_a_span_that_is_none_is_refused(client_user: Account, hours: str) -> None:
    """The longest is said, and nothing is made."""
    package = a_package(client_user)

    answer = client_of(client_user).post(f"/packages/{package.pk}/share", {"hours": hours})

    assert "Choose how long the link holds: 1 to 2160 hours." in page_of(answer, status=422).text
    assert not PackageLink.objects.exists()


def test_a_package_under_construction_is_not_shared(client_user: Account) -> None:
    """There is no form, and a sent one is refused in words."""
    package = a_package(client_user, ready_at=None)

    answer = client_of(client_user).post(f"/packages/{package.pk}/share", {"hours": "24"})

    assert "Share it by link" not in look(client_user, f"/packages/{package.pk}").text
    assert "still being built" in page_of(answer, status=409).text


def test_how_long_it_is_kept_and_by_whom_it_is_signed(
    client_user: Account, reviewer: Account
) -> None:
    """The contract's time, that it is held longer, and the key; why it is held the office reads."""
    checkpoint = HistoryCheckpoint.objects.create(
        entries=1, head="0" * 64, made_at=now(), key_id="0123456789abcdef", signature="0" * 128
    )
    package = a_package(client_user, checkpoint=checkpoint)
    address = f"/packages/{package.pk}"
    unanswered = look(client_user, address).text
    ClientAnswerFactory(package=package, answered_at=datetime(2031, 3, 14, 12, tzinfo=UTC))
    kept = look(client_user, address).text
    LegalHoldFactory(work_order=package.closing.repair.work_order, reason="claim of a neighbour")
    held = look(client_user, address).text
    office = look(reviewer, address).text

    assert "Kept: the client has not accepted it." in unanswered
    assert "Kept until 2046-03-14." in kept
    assert "Held: legal hold; by the contract until 2046-03-14." in held
    assert "Held: claim of a neighbour; by the contract until 2046-03-14." in office
    assert "0123456789abcdef Compare it with the id you were told apart from the package" in held


def test_an_order_is_collected_at_the_page(client_user: Account) -> None:
    """By its number: it stands below with how far it is, and the page keeps itself fresh."""
    number = a_package(client_user).closing.repair.work_order.number

    made = client_of(client_user).post("/packages", {"order": number, "month": ""})
    page = look(client_user, "/packages")
    CollectedPackage.objects.update(ready_at=now(), size_bytes=2_000_000)
    ready = look(client_user, "/packages")

    assert (made.status_code, made["Location"]) == (302, "/packages#collected")
    row = CollectedPackage.objects.get()
    assert row.requested_by == client_user
    address = f"/api/v1/collections/{row.pk}/file"
    assert f"{number} : 1 package" in page.text
    assert "It is being built. 0 %" in page.text
    assert address not in page.links
    assert address in ready.links
    assert "1.9 MB" in ready.text


def test_a_month_of_a_customer_is_collected_by_the_office(
    client_user: Account, dispatcher: Account
) -> None:
    """The office says whose month; a client's is its own."""
    a_package(client_user)
    month = f"{now():%Y-%m}"
    code = client_user.customer.code  # type: ignore[union-attr]

    whose = client_of(dispatcher).post("/packages", {"month": month})
    office = client_of(dispatcher).post("/packages", {"month": month, "customer": code})
    own = client_of(client_user).post("/packages", {"month": month})

    refused = page_of(whose, status=422)
    assert "Choose whose month it is." in refused.text
    assert refused.typed["month"] == month
    assert (office.status_code, own.status_code) == (302, 302)
    assert CollectedPackage.objects.filter(customer=client_user.customer).count() == 2


@pytest.mark.parametrize(
    ("sent", "status", "says"),
    [
        ({}, 422, "Name an order, or a month; one of the two."),
        ({"order": "WO-1", "month": "2031-03"}, 422, "one of the two."),
        ({"month": "March"}, 422, "Write the month as 2031-03."),
        ({"month": "0000-01"}, 422, "Write the month as 2031-03."),
        ({"order": "o" * 61}, 422, "too long"),
        ({"order": "<b>none</b>"}, 404, "There is no order <b>none</b>."),
        ({"month": "2001-01"}, 409, "no repair of it has a finished package yet"),
    ],
)
def test_what_cannot_be_collected_is_said(
    client_user: Account, sent: dict[str, str], status: int, says: str
) -> None:
    """In words, with what was typed still there, and nothing is ordered."""
    a_package(client_user)

    page = page_of(client_of(client_user).post("/packages", sent), status=status)

    assert says in page.text
    assert page.typed["order"] == sent.get("order", "")
    assert not CollectedPackage.objects.exists()


def test_two_customers_may_have_one_number(client_user: Account, dispatcher: Account) -> None:
    """Then the office says whose; the client means its own."""
    order = a_package(client_user).closing.repair.work_order
    other = CustomerFactory(code="TOWN-TWO")
    type(order).objects.create(
        customer=other, number=order.number, requirement_set=order.requirement_set
    )
    office = client_of(dispatcher)

    which = page_of(office.post("/packages", {"order": order.number}), status=422)
    chosen = office.post("/packages", {"order": order.number, "customer": order.customer.code})
    own = client_of(client_user).post("/packages", {"order": order.number})

    assert "Several customers have an order" in which.text
    assert (chosen.status_code, own.status_code) == (302, 302)


def test_a_client_sees_only_what_was_collected_of_its_own(
    client_user: Account, stranger_client: Account
) -> None:
    """And what was left out of it is named."""
    row = CollectedPackageFactory(
        customer=client_user.customer,
        members={"packages": [], "not_closed": ["REP-LATER"], "of": "WO-7"},
        ready_at=now(),
    )
    address = f"/api/v1/collections/{row.pk}/file"

    own, strange = look(client_user, "/packages"), look(stranger_client, "/packages")

    assert address in own.links
    assert "Not closed yet, so not in it as they will be: REP-LATER" in own.text
    assert address not in strange.links
    assert "REP-LATER" not in strange.text


def test_whose_session_is_over_comes_back_to_the_package(client_user: Account) -> None:
    """Nothing is shared or called back by somebody who is not signed in."""
    link = PackageLinkFactory(package=a_package(client_user))
    stranger = client_of(None)

    share = stranger.post(f"/packages/{link.package_id}/share", {"hours": "24"})
    back = stranger.post(f"/package-links/{link.pk}/call-back")

    assert share["Location"] == f"/login?next=/packages/{link.package_id}"
    assert back["Location"] == "/login?next=/packages"
    assert PackageLink.objects.get().called_back_at is None


def test_a_collected_package_was_asked_for_on_its_owners_clock(client_user: Account) -> None:
    """Like every other time of the page, with its distance from UTC."""
    assert client_user.customer is not None
    SiteFactory(customer=client_user.customer, time_zone="Etc/GMT+3")
    asked = datetime(2031, 3, 14, 12, 30, tzinfo=UTC)
    CollectedPackageFactory(customer=client_user.customer, requested_at=asked)

    text = look(client_user, "/packages").text

    assert "asked for Fri 14 Mar 2031, 09:30 (UTC\N{MINUS SIGN}3)" in text
