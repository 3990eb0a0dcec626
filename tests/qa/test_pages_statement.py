"""The page of a statement: month and customer chosen, sums first, both files at hand."""

from datetime import UTC, datetime

import pytest

from repairs.models import Account, Customer
from tests.factories import CustomerFactory, RepairFactory, SiteFactory
from tests.page_reader import look
from tests.proof_factories import (
    ClientAnswerFactory,
    CloseoutPackageFactory,
    ClosingFactory,
    EvidenceFactory,
)

MARCH = datetime(2020, 3, 10, 12, tzinfo=UTC)


def in_march(customer: Customer, ref: str, answer: str) -> None:
    """Have an attempt closed in March, and answered if there is an answer."""
    repair = RepairFactory(customer=customer, ref=ref)
    EvidenceFactory(repair=repair, kind="post_repair_film", received_at=MARCH)
    closing = ClosingFactory(repair=repair, closed_at=MARCH, verdicts=[])
    package = CloseoutPackageFactory(closing=closing, ready_at=MARCH)
    if answer:
        ClientAnswerFactory(package=package, answer=answer, answered_at=MARCH)


def test_a_client_reads_its_month_and_fetches_both_files(
    client_user: Account, customer: Customer
) -> None:
    """What is to pay stands apart from what is not; a client is not asked whose month."""
    in_march(customer, "REP-YES", "accepted")
    in_march(customer, "REP-NO", "returned")
    in_march(customer, "REP-WAITS", "")

    page = look(client_user, "/statement?month=2020-03")

    accepted, rest = page.text.split("Closed in this month and not accepted")
    assert "REP-YES" in accepted
    assert "Filming before and after 1 each" in accepted
    returned, waiting = rest.split("Not answered yet")
    assert "REP-NO" in returned
    assert "REP-WAITS" not in returned
    assert "REP-WAITS" in waiting
    assert "REP-NO" not in waiting
    assert "does not change any more" in page.text
    asked = f"customer={customer.code}&month=2020-03"
    assert {f"/api/v1/statements/{kind}?{asked}" for kind in ("pdf", "csv")} <= set(page.links)
    assert "customer" not in page.typed


def test_a_month_in_which_nothing_was_closed_says_so(
    client_user: Account, customer: Customer
) -> None:
    """Not 'all that was closed was accepted'; a month with everything accepted says that."""
    nothing = look(client_user, "/statement?month=2020-04").text
    in_march(customer, "REP-YES", "accepted")
    all_accepted = look(client_user, "/statement?month=2020-03").text

    assert "Nothing was closed in this month." in nothing
    assert "Nothing: all that was closed in this month was accepted." in all_accepted


def test_the_packages_page_leads_there(client_user: Account, dispatcher: Account) -> None:
    """For the office and for a client."""
    for account in (client_user, dispatcher):
        assert "/statement" in look(account, "/packages").links


@pytest.mark.parametrize("month", ["March", "2031-13", "", "2031-03\x00", "' or 1=1"])
def test_a_wrong_month_is_said_and_kept(
    dispatcher: Account, customer: Customer, month: str
) -> None:
    """What was typed stays in the box, and what was chosen stays chosen."""
    CustomerFactory(code="TOWN-TWO")
    address = f"/statement?month={month.replace(' ', '+').replace(chr(0), '%00')}"

    page = look(dispatcher, f"{address}&customer={customer.code}", status=422)

    assert "Write the month as 2031-03." in page.text
    assert page.typed["month"] == month


def test_the_office_says_whose_month(dispatcher: Account, customer: Customer) -> None:
    """With several customers one is chosen; with one only, there is nothing to choose."""
    in_march(customer, "REP-YES", "accepted")
    alone = look(dispatcher, "/statement?month=2020-03")
    CustomerFactory(code="TOWN-TWO")

    first = look(dispatcher, "/statement")
    nobody = look(dispatcher, "/statement?month=2020-03", status=422)
    wrong = look(dispatcher, "/statement?month=2020-03&customer=TOWN-X", status=422)
    other = look(dispatcher, "/statement?month=2020-03&customer=TOWN-TWO")

    assert "REP-YES" in alone.text
    assert "Choose whose month" not in first.text
    assert "Choose whose month it is." in nobody.text
    assert "Choose whose month it is." in wrong.text
    assert "The customer accepted no repair in this month." in other.text


def test_another_towns_month_is_not_there(client_user: Account) -> None:
    """Neither by its code nor by a code that nobody has."""
    CustomerFactory(code="TOWN-TWO")

    look(client_user, "/statement?month=2020-03&customer=TOWN-TWO", status=404)
    look(client_user, "/statement?month=2020-03&customer=TOWN-X", status=404)


def test_a_month_that_runs_is_told_as_of_the_owners_own_clock(
    dispatcher: Account, customer: Customer
) -> None:
    """The days of the page are local; so is the moment it is told at."""
    SiteFactory(customer=customer, time_zone="Etc/GMT-5")
    page = look(dispatcher, f"/statement?month={datetime.now(UTC):%Y-%m}&customer={customer.code}")

    assert "The month is not over: this is as of " in page.text
    assert "(UTC+5)" in page.text


def test_a_month_to_come_has_not_begun(dispatcher: Account, customer: Customer) -> None:
    """It is not 'not over'."""
    page = look(dispatcher, f"/statement?month=2999-01&customer={customer.code}")

    assert "The month has not begun: there is nothing to pay yet." in page.text
    assert "not over" not in page.text
