"""Order files and order rows: each row is answered by itself, nothing is overwritten."""

import csv
import io
import json
from datetime import UTC, datetime
from typing import Any

import geojson
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from repairs.models import Account, Customer, Repair, RequirementSet, Run, Site
from tests.callers import API, signed_in
from tests.factories import RequirementSetFactory
from tests.order_example import order_row

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(dispatcher: Account) -> APIClient:
    """Return the dispatcher at the door."""
    return signed_in(dispatcher)


@pytest.fixture
def contract(db: None) -> RequirementSet:  # noqa: ARG001 - rows need the database
    """Return the contract of the orders."""
    return RequirementSetFactory()


def as_csv(rows: list[dict[str, Any]]) -> bytes:
    """Write rows as a client's spreadsheet does."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def as_geojson(rows: list[dict[str, Any]]) -> bytes:
    """Write rows as GeoJSON with an outside library."""
    features = []
    for row in rows:
        cells = dict(row)
        ends = [
            (float(cells.pop(f"{end}_longitude")), float(cells.pop(f"{end}_latitude")))
            for end in ("upstream", "downstream")
        ]
        features.append(geojson.Feature(geometry=geojson.LineString(ends), properties=cells))
    return geojson.dumps(geojson.FeatureCollection(features)).encode()


def send(
    office: APIClient, customer: Customer, body: bytes, contract: RequirementSet | None
) -> dict[str, Any]:
    """Upload an order file and return the answer."""
    sent: dict[str, Any] = {
        "customer": customer.code,
        "file": SimpleUploadedFile("orders", body),
    }
    if contract is not None:
        sent["requirement_set"] = str(contract.pk)
    answer = office.post(f"{API}/order-files", sent, format="multipart")
    assert answer.status_code == 200, answer.json()
    return dict(answer.json())


def many(count: int) -> list[dict[str, Any]]:
    """Return rows of one order on one run."""
    return [order_row(repair=str(n), distance_m=f"{n % 40}.5") for n in range(1, count + 1)]


@pytest.mark.parametrize("written", [as_csv, as_geojson])
def test_one_bad_row_in_500_leaves_499_stored(
    office: APIClient, customer: Customer, contract: RequirementSet, written: Any
) -> None:
    """The bad row says field, found and expected; all others are stored."""
    rows = many(500)
    rows[122]["roots"] = "perhaps"

    answer = send(office, customer, written(rows), contract)

    counts = (answer["stored"], answer["already_there"], answer["not_understood"])
    assert counts == (499, 0, 1)
    assert Repair.objects.count() == 499
    assert answer["rows"][122] == {
        "row": 123,
        "line": 124 if written is as_csv else None,
        "outcome": "not understood",
        "repair": "123",
        "repair_id": None,
        "faults": [{"field": "roots", "found": "perhaps", "expected": "yes or no"}],
    }


@pytest.mark.parametrize("written", [as_csv, as_geojson])
def test_the_same_file_again_is_already_there(
    office: APIClient, customer: Customer, contract: RequirementSet, written: Any
) -> None:
    """A second import changes nothing and names the same repairs."""
    first = send(office, customer, written(many(5)), contract)
    again = send(office, customer, written(many(5)), None)

    assert (again["stored"], again["already_there"]) == (0, 5)
    ids = [[row["repair_id"] for row in answer["rows"]] for answer in (first, again)]
    assert ids[0] == ids[1]
    assert (Repair.objects.count(), Run.objects.count(), Site.objects.count()) == (5, 1, 1)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"distance_m": "20.5"}, "repair.distance_m"),
        ({"roots": "yes"}, "repair.roots"),
        ({"diameter_mm": "250"}, "run.diameter_mm"),
        ({"upstream_latitude": "10.0001"}, "upstream.latitude"),
        ({"street": "Other Street"}, "site.street"),
    ],
)
def test_another_content_under_a_known_ref_is_refused(
    office: APIClient,
    customer: Customer,
    contract: RequirementSet,
    changed: dict[str, str],
    field: str,
) -> None:
    """An order file never overwrites: the answer names the field, what is stored, what was sent."""
    send(office, customer, as_csv([order_row()]), contract)

    answer = send(office, customer, as_csv([order_row(**changed)]), contract)

    assert answer["not_understood"] == 1
    assert answer["rows"][0]["faults"][0]["field"] == field
    assert "as already stored" in answer["rows"][0]["faults"][0]["expected"]


def test_an_order_keeps_the_contract_it_was_placed_under(
    office: APIClient, customer: Customer, contract: RequirementSet
) -> None:
    """Rows sent later under another contract are refused, not silently put under the old one."""
    send(office, customer, as_csv([order_row()]), contract)
    newer = RequirementSetFactory(version=2)

    answer = send(office, customer, as_csv([order_row(repair="2")]), newer)

    assert answer["rows"][0]["faults"][0]["field"] == "requirement_set"
    assert Repair.objects.count() == 1


def test_a_new_order_needs_a_contract(office: APIClient, customer: Customer) -> None:
    """Without a requirement set nothing says how the repair is to be proved."""
    answer = send(office, customer, as_csv([order_row()]), None)

    assert answer["not_understood"] == 1
    assert answer["rows"][0]["faults"][0]["field"] == "work_order"
    assert Site.objects.count() == 0  # a row is stored whole or not at all


def test_a_column_nobody_knows_is_named_and_costs_no_row(
    office: APIClient, customer: Customer, contract: RequirementSet
) -> None:
    """A misspelt column would otherwise be lost silently."""
    answer = send(office, customer, as_csv([order_row(wall_colour="brown")]), contract)

    assert answer["columns_not_understood"] == ["wall_colour"]
    assert (answer["stored"], answer["rows"][0]["line"]) == (1, 2)


def test_the_window_of_an_order_is_kept(
    office: APIClient, customer: Customer, contract: RequirementSet
) -> None:
    """An instant is stored as the instant it is, and the same file again is already there."""
    window = {
        "not_before": "2031-05-06T08:00:00-05:00",
        "not_after": "2031-05-06T17:00:00-05:00",
    }
    send(office, customer, as_csv([order_row(**window)]), contract)
    again = send(office, customer, as_csv([order_row(**window)]), contract)

    repair = Repair.objects.get()
    assert repair.not_before == datetime(2031, 5, 6, 13, tzinfo=UTC)
    assert repair.not_after == datetime(2031, 5, 6, 22, tzinfo=UTC)
    assert again["already_there"] == 1


def test_a_file_of_another_encoding_says_how_to_save_it(
    office: APIClient, customer: Customer, contract: RequirementSet
) -> None:
    """The hint names the choice as a spreadsheet does."""
    sent = {
        "customer": customer.code,
        "requirement_set": str(contract.pk),
        "file": SimpleUploadedFile("orders", "a,b\nStra\xdfe,1\n".encode("latin-1")),
    }

    answer = office.post(f"{API}/order-files", sent, format="multipart")

    assert "CSV UTF-8" in answer.json()["errors"][0]["expected"]


def test_rows_as_json_are_answered_like_a_file(
    office: APIClient, customer: Customer, contract: RequirementSet
) -> None:
    """The same names, the same answer."""
    body = {
        "customer": customer.code,
        "requirement_set": str(contract.pk),
        "rows": [order_row(), order_row(repair="2", distance_m="99")],
    }

    answer = office.post(f"{API}/work-orders", body).json()

    assert (answer["stored"], answer["not_understood"]) == (1, 1)
    assert answer["rows"][1]["faults"][0]["field"] == "distance_m"


@pytest.mark.parametrize(
    "cells",
    [
        {"note": "one\x00two"},
        {"material": "half \ud83d"},
        {"street": "x" * 300},
        {"work_order": "x" * 61},
        {"length_m": 10**400},
        {"length_m": [1, 2]},
        {"repair": {"a": "b"}},
        {"distance_m": "1e999"},
        {"clock_from": True},
    ],
)
def test_hostile_cells_are_told_and_cost_nobody_else(
    office: APIClient, customer: Customer, contract: RequirementSet, cells: dict[str, Any]
) -> None:
    """What no record can hold is answered in its own row, never with a 500."""
    rows = [order_row(repair="bad", **cells) if "repair" not in cells else {**order_row(), **cells}]
    body = {
        "customer": customer.code,
        "requirement_set": str(contract.pk),
        "rows": [*rows, order_row(repair="good", work_order="WO-2")],
    }

    text = json.dumps(body)
    answer = office.post(f"{API}/work-orders", text, content_type="application/json")

    assert answer.status_code == 200, answer.content
    outcomes = [row["outcome"] for row in answer.json()["rows"]]
    assert outcomes == ["not understood", "stored"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        (b"\xff\xfe", "file"),
        (b"no heading", "file"),
        (b"{", "file"),
        (b'{"type": "Feature"}', "type"),
        (b"[" * 50_000, "file"),
        (b"", "file"),
    ],
)
def test_what_is_no_order_file_is_refused_whole(
    office: APIClient, customer: Customer, contract: RequirementSet, body: bytes, field: str
) -> None:
    """One problem with the field, what was found and what was expected."""
    sent = {
        "customer": customer.code,
        "requirement_set": str(contract.pk),
        "file": SimpleUploadedFile("orders", body),
    }

    answer = office.post(f"{API}/order-files", sent, format="multipart")

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field


def test_two_customers_may_use_the_same_refs(
    office: APIClient, customer: Customer, contract: RequirementSet, stranger_client: Account
) -> None:
    """A ref names something within its owner's house only."""
    other = stranger_client.customer
    assert other is not None
    send(office, customer, as_csv([order_row()]), contract)

    answer = send(office, other, as_csv([order_row()]), contract)

    assert answer["stored"] == 1
    assert Site.objects.count() == 2
