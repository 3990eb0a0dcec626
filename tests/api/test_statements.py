"""A statement by itself: what is to pay of a month or order, for whom it may concern."""

import csv
import io
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any

import pypdf
import pytest
from django.utils import timezone

from qa.handover.counted import quantities_of
from qa.handover.package_facts import closeout_facts
from qa.models import ClientAnswer, CloseoutPackage, Closing
from qa.statements import month_statement
from repairs.models import Account, Customer, Repair
from tests.callers import API, signed_in
from tests.factories import CustomerFactory, RepairFactory, SiteFactory
from tests.proof_factories import (
    ClientAnswerFactory,
    CloseoutPackageFactory,
    ClosingFactory,
    EvidenceFactory,
    FieldEventFactory,
)
from tests.proved_repair import ProvedRepair, a_proved_repair

pytestmark = pytest.mark.django_db
PATH = f"{API}/statements"
MARCH, APRIL = datetime(2031, 3, 10, 12, tzinfo=UTC), datetime(2031, 4, 2, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def proved(module_rows: None, tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:  # noqa: ARG001
    """Return a repair with real events, prescription and films."""
    return a_proved_repair(tmp_path_factory.mktemp("evidence"))


def closed(customer: Customer, ref: str, at: datetime, **given: Any) -> CloseoutPackage:
    """Return the package of a closed attempt that has both its films: something to pay by."""
    repair = given.pop("repair", None) or RepairFactory(customer=customer, ref=ref)
    attempt = given.pop("attempt", 1)
    for kind in ("pre_repair_film", "post_repair_film"):
        EvidenceFactory(repair=repair, kind=kind, attempt=attempt, received_at=at)
    closing = ClosingFactory(repair=repair, attempt=attempt, closed_at=at, verdicts=[])
    package: CloseoutPackage = CloseoutPackageFactory(closing=closing, ready_at=at)
    return package


def answered(package: CloseoutPackage, answer: str, at: datetime) -> ClientAnswer:
    """Have the client answer."""
    row: ClientAnswer = ClientAnswerFactory(package=package, answer=answer, answered_at=at)
    return row


def asked(account: Account, **given: str) -> dict[str, Any]:
    """Ask for a statement and return it."""
    answer = signed_in(account).get(PATH, given)
    assert answer.status_code == 200, answer.json()
    return dict(answer.json())


def refs(lines: list[dict[str, Any]]) -> list[tuple[str, int, str | None]]:
    """Return which attempts stand there with which answer."""
    return [(line["repair"], line["attempt"], line["answer"]) for line in lines]


def test_a_repair_is_paid_in_the_month_of_its_acceptance(
    client_user: Account, customer: Customer
) -> None:
    """Closed in March, accepted in April: unpaid in March, to pay in April, nothing in May."""
    answered(closed(customer, "REP-1", MARCH), "accepted", APRIL)
    answered(closed(customer, "REP-2", MARCH), "accepted", MARCH + timedelta(days=1))

    march, april, may = (
        asked(client_user, customer=customer.code, month=month)
        for month in ("2031-03", "2031-04", "2031-05")
    )

    assert refs(march["accepted"]) == [("REP-2", 1, "accepted")]
    assert refs(march["not_accepted"]) == [("REP-1", 1, None)]
    assert march["not_accepted"][0]["answered_on"] is None
    assert refs(april["accepted"]) == [("REP-1", 1, "accepted")]
    assert (april["not_accepted"], may["accepted"], may["to_pay"]) == ([], [], [])
    assert (april["of"], april["rule"]) == ("2031-04", "accepted in the month")
    films = {each["pay_item"]: each["quantity"] for each in april["to_pay"]}
    assert films == {"film": "2"}
    assert april["accepted"][0]["closed_on"] == "2031-03-10"


def test_a_returned_attempt_is_never_paid(client_user: Account, customer: Customer) -> None:
    """Returned, repaired again and accepted: the second attempt is paid, the first one is not."""
    first = closed(customer, "REP-1", MARCH)
    answered(first, "returned", MARCH + timedelta(days=2))
    again = closed(customer, "", MARCH + timedelta(days=4), repair=first.closing.repair, attempt=2)
    answered(again, "accepted", MARCH + timedelta(days=5))

    march = asked(client_user, customer=customer.code, month="2031-03")

    assert refs(march["accepted"]) == [("REP-1", 2, "accepted")]
    assert refs(march["not_accepted"]) == [("REP-1", 1, "returned")]


def test_an_order_has_all_that_was_accepted_so_far(dispatcher: Account, customer: Customer) -> None:
    """Whatever month it was, with what is not closed yet."""
    package = closed(customer, "REP-1", MARCH)
    order = package.closing.repair.work_order
    answered(package, "accepted", APRIL)
    RepairFactory(work_order=order, run=package.closing.repair.run, ref="REP-LATER")

    found = asked(dispatcher, work_order=str(order.pk))

    assert refs(found["accepted"]) == [("REP-1", 1, "accepted")]
    assert (found["rule"], found["not_closed"]) == ("accepted so far", ["REP-LATER"])
    assert found["stands_at"] is not None


def test_the_months_of_two_sites_end_when_they_end_there(
    client_user: Account, customer: Customer
) -> None:
    """23:30 UTC on the last of March is April at one site, and March at the other."""
    late = datetime(2031, 3, 31, 23, 30, tzinfo=UTC)
    for ref, zone in (("REP-EAST", "Europe/Berlin"), ("REP-WEST", "America/Chicago")):
        site = SiteFactory(customer=customer, time_zone=zone)
        repair = RepairFactory(customer=customer, ref=ref, run__site=site)
        answered(closed(customer, ref, late, repair=repair), "accepted", late)

    months = [
        refs(asked(client_user, customer=customer.code, month=month)["accepted"])
        for month in ("2031-03", "2031-04")
    ]

    assert months == [[("REP-WEST", 1, "accepted")], [("REP-EAST", 1, "accepted")]]


def test_a_customer_is_named_by_code_or_id(dispatcher: Account, customer: Customer) -> None:
    """Both name the same statement."""
    by_code = asked(dispatcher, customer=customer.code, month="2001-03")
    by_id = asked(dispatcher, customer=str(customer.pk), month="2001-03")

    assert by_code == by_id
    assert (by_code["customer"], by_code["stands_at"]) == (customer.code, None)


def test_both_files_say_the_same_and_stay_the_same(
    client_user: Account, customer: Customer
) -> None:
    """Of a month that is over: the same bytes each time, the letter names the table's hash."""
    at = datetime(2020, 3, 10, 12, tzinfo=UTC)
    answered(closed(customer, "REP-1", at), "accepted", at)
    caller, asked_for = signed_in(client_user), {"customer": customer.code, "month": "2020-03"}

    table, letter = (caller.get(f"{PATH}/{kind}", asked_for) for kind in ("csv", "pdf"))
    again = caller.get(f"{PATH}/pdf", asked_for)

    name = f'attachment; filename="{customer.code}-2020-03-statement'
    assert table["Content-Disposition"] == f'{name}.csv"'
    assert (letter["Content-Disposition"], letter["Content-Type"]) == (
        f'{name}.pdf"', "application/pdf",
    )  # fmt: skip
    assert again.content == letter.content
    rows = list(csv.DictReader(io.StringIO(table.content.decode(), newline="")))
    assert {(row["line"], row["to_pay"], row["quantity"]) for row in rows} == {
        ("repair", "yes", "2"), ("sum", "yes", "2"),
    }  # fmt: skip
    text = pypdf.PdfReader(io.BytesIO(letter.content)).pages[0].extract_text()
    assert sha256(table.content).hexdigest() in text


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({}, "work_order"),
        ({"month": "2031-03"}, "customer"),
        ({"customer": "TOWN-ONE"}, "month"),
        ({"customer": "TOWN-ONE", "month": "2031-3"}, "month"),
        ({"customer": "TOWN-ONE", "month": "2031-13"}, "month"),
        ({"customer": "TOWN-ONE", "month": "2031-03\n"}, "month"),
        ({"customer": "\x00", "month": "2031-03"}, "customer"),
        ({"customer": "", "month": "2031-03"}, "customer"),
        ({"work_order": "seven"}, "work_order"),
        ({"work_order": "seven", "month": "2031-03"}, "month"),
        ({"work_order": "seven", "customer": "TOWN-ONE"}, "customer"),
        ({"customer": "TOWN-ONE", "month": "2031-03", "kind": "pdf"}, "kind"),
    ],
)
@pytest.mark.parametrize("kind", ["", "/csv", "/pdf"])
def test_what_is_wanted_must_be_said(
    dispatcher: Account, given: dict[str, str], field: str, kind: str
) -> None:
    """The answer names the field."""
    answer = signed_in(dispatcher).get(f"{PATH}{kind}", given)

    assert answer.status_code == 422, answer.content
    assert answer.json()["detail"].startswith(f"{field}: found ")


@pytest.mark.parametrize("month", ["0001-01", "9999-12"])
def test_no_month_is_an_error(dispatcher: Account, customer: Customer, month: str) -> None:
    """The first and the last that can be written have nothing in them."""
    assert asked(dispatcher, customer=customer.code, month=month)["accepted"] == []


def test_a_client_asks_for_its_own_only(client_user: Account) -> None:
    """Another town's month and order are not there."""
    other = closed(CustomerFactory(code="TOWN-TWO"), "REP-1", MARCH)
    own = signed_in(client_user)
    order = str(other.closing.repair.work_order_id)

    assert own.get(PATH, {"customer": "TOWN-TWO", "month": "2031-03"}).status_code == 404
    assert own.get(PATH, {"work_order": order}).status_code == 404


def closing_of(repair: Repair, at: datetime) -> Closing:
    """Return a closing as it may have come about, to be counted both ways."""
    row: Closing = ClosingFactory(repair=repair, closed_at=at, verdicts=[])
    return row


@pytest.mark.parametrize("sleeves", [1, 2])
def test_the_short_way_of_counting_counts_the_same(proved: ProvedRepair, sleeves: int) -> None:
    """What a package has from all facts, a statement has without them: with one sleeve and two."""
    prescription = proved.repair.prescriptions.get()
    prescription.result["sleeve_count"] = sleeves
    prescription.save()
    if sleeves == 2:
        placed = proved.repair.field_events.get(kind="placed")
        moved = {**placed.data, "sleeve": 2, "distance_m": placed.data["distance_m"] + 0.8}
        FieldEventFactory(repair=proved.repair, kind="placed", data=moved)
    closing = closing_of(proved.repair, timezone.now())

    found = quantities_of(closing)

    assert found == closeout_facts(closing).quantities
    counted = {each.pay_item: each.quantity for each in found}
    assert counted["sleeve"] == sleeves
    assert counted["film"] == 2
    assert counted["sleeve_length"] > Decimal("0.5")


def test_what_is_told_after_closing_changes_nothing(proved: ProvedRepair) -> None:
    """A leak test and a place that are reported later are not paid of this attempt."""
    closing = closing_of(proved.repair, timezone.now())
    before = quantities_of(closing)
    later = timezone.now() + timedelta(hours=1)
    placed = proved.repair.field_events.filter(kind="placed").first()
    assert placed is not None
    moved = {**placed.data, "distance_m": 1.0}
    FieldEventFactory(
        repair=proved.repair, kind="placed", data=moved, corrects=placed.id, received_at=later
    )

    assert quantities_of(closing) == before


def test_a_month_is_counted_without_reading_files(
    customer: Customer, django_assert_max_num_queries: Any
) -> None:
    """Four questions to the database a repair, and one for all of them: no log, no clock."""
    for number in range(5):
        closed(customer, f"REP-{number}", MARCH)

    with django_assert_max_num_queries(1 + 5 * 4):
        made = month_statement(customer=customer, month=MARCH.date().replace(day=1), now=APRIL)

    assert len(made.not_accepted) == 5
