"""A fault names the field, the value that was sent and what would be right; all of them at once."""

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from repairs.models import Account
from tests.api.example_catalogue import CHART, CONTRACT, KIT, RESIN
from tests.api.test_problems import check
from tests.callers import API, signed_in
from tests.factories import KitTypeFactory, RepairFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(dispatcher: Account) -> APIClient:
    """Return the dispatcher at the door of a catalogue with one kit."""
    KitTypeFactory()
    return signed_in(dispatcher)


def faults(office: APIClient, route: str, body: dict[str, Any]) -> dict[str, tuple[str, str]]:
    """Return found and expected by field."""
    answer = office.post(f"{API}/{route}", json.dumps(body), content_type="application/json")
    errors = check(answer, 422, "malformed")["errors"]
    return {error["field"]: (error["found"], error["expected"]) for error in errors}


@pytest.mark.parametrize(
    ("route", "body", "field", "found", "expected"),
    [
        ("customers", {"code": "A"}, "name", "nothing", "a value"),
        ("customers", {"code": "A", "name": None}, "name", "nothing", "a value"),
        ("customers", {"code": "A", "name": ""}, "name", "''", "text that is not empty"),
        ("customers", {"code": "A", "name": ["x"]}, "name", '["x"]', "text"),
        (
            "customers",
            {"code": "A b", "name": "x"},
            "code",
            "'A b'",
            "text of the pattern ^[A-Za-z0-9-]{1,30}$",
        ),
        (
            "customers",
            {"code": "A", "name": "x", "contact_email": "y"},
            "contact_email",
            "'y'",
            "an e-mail address",
        ),
        (
            "customers",
            {"code": "A", "name": "x", "nmae": 7},
            "nmae",
            "7",
            "no field of this name, only code, name, contact_email",
        ),
        ("resin-systems", {**RESIN, "ratio_a": "much"}, "ratio_a", "'much'", "a number"),
        ("resin-systems", {**RESIN, "ratio_a": 0}, "ratio_a", "0", "at least 0.001"),
        (
            "resin-systems",
            {**RESIN, "ratio_basis": "feel"},
            "ratio_basis",
            "'feel'",
            "one of mass, volume",
        ),
        (
            "kit-types",
            {**KIT, "limit": 8},
            "limit",
            "8",
            '{"value": number, "unit": text}',
        ),
        (
            "kit-types",
            {**KIT, "limit": {"value": 8, "unit": "psig"}},
            "limit",
            '{"value": 8, "unit": "psig"}',
            "one of kPa, Pa, bar, mbar, psi",
        ),
        (
            "kit-types",
            {**KIT, "limit": {"value": 0.1, "unit": "psi"}},
            "limit",
            '{"value": 0.1, "unit": "psi"}',
            "0.1451 to 145 psi",
        ),
        (
            "kit-types",
            {**KIT, "sleeve_lengths_m": [1, "two", 30]},
            "sleeve_lengths_m[1]",
            "'two'",
            "a number",
        ),
        ("kit-types", {**KIT, "contents": "glue"}, "contents", "'glue'", "a list"),
        ("kit-types", {**KIT, "code": "x" * 100}, "code", f"'{'x' * 78}…", None),
        (
            "charts",
            {**CHART, "resin_system": "RESIN-9"},
            "resin_system",
            "'RESIN-9'",
            "the code of something that is there",
        ),
        ("charts", {**CHART, "rows": [7]}, "rows[0]", "7", "an object"),
        (
            "charts",
            {**CHART, "rows": [*CHART["rows"], {"temperature": {"value": 21, "unit": "C"}}]},
            f"rows[{len(CHART['rows'])}].minutes",
            "nothing",
            "a value",
        ),
        (
            "sites",
            {"customer": "A", "ref": "x", "time_zone": "Mars/Base"},
            "time_zone",
            "'Mars/Base'",
            "an IANA time zone such as CET",
        ),
    ],
)
def test_a_fault_says_what_was_sent_and_what_would_be_right(
    office: APIClient,
    route: str,
    body: dict[str, Any],
    *,
    field: str,
    found: str,
    expected: str | None,
) -> None:
    """The value as it would be typed, shortened to a line, and no word twice."""
    told = faults(office, route, body)[field]

    assert told[0] == found
    assert expected is None or told[1] == expected


def test_a_password_is_never_sent_back() -> None:
    """A fault of a secret does not repeat it."""
    body = {"username": "x", "password": "secret" * 200}

    answer = APIClient().post(f"{API}/session", body, format="json")

    check(answer, 422, "malformed")
    assert "secret" not in answer.content.decode()


def test_unknown_and_wrong_fields_are_told_together(office: APIClient) -> None:
    """A misspelt field does not hide the others."""
    told = faults(office, "customers", {"code": "?", "nmae": "x"})

    assert set(told) == {"code", "name", "nmae"}


def test_every_fault_of_a_contract_is_named(office: APIClient) -> None:
    """Limits, rules and requirements, each list counted from 0."""
    body = {
        **CONTRACT,
        "limits": {"hold_test_min": {"value": -1, "source": "x"}, "lunch": 1},
        "fitness_rules": [{**CONTRACT["fitness_rules"][0], "fact": "colour"}],
        "requirements": [{"code": "hold_test"}, {"code": "lunch"}, {"code": "hold_test"}],
    }

    told = faults(office, "requirement-sets", body)

    assert {
        "limits.hold_test_min.value",
        "limits.lunch",
        "limits.wrinkle_m",
        "fitness_rules[0].fact",
        "requirements[1].code",
        "requirements[2].code",
    } <= set(told)
    assert told["limits.hold_test_min.value"] == ("-1", "0 or more")
    assert told["requirements[2].code"] == ("'hold_test'", "each requirement once")


def test_every_fault_of_a_chart_is_named(office: APIClient) -> None:
    """Band and rows together."""
    rows = [
        {"temperature": {"value": celsius, "unit": "C"}, "minutes": minutes}
        for celsius, minutes in ((20, 60), (10, 90), (15, 200))
    ]
    body = {**CHART, "rows": rows, "diameter_max": {"value": 1, "unit": "mm"}}

    told = faults(office, "charts", body)

    assert set(told) == {
        "diameter_max",
        "rows[1].temperature",
        "rows[1].minutes",
        "rows[2].minutes",
    }


def test_every_fault_of_a_kit_is_named(office: APIClient) -> None:
    """A usual pressure above the limit is one as well."""
    body = {
        **KIT,
        "diameter_max": {"value": 1, "unit": "mm"},
        "usual_inflation": {"value": 100, "unit": "kPa"},
        "limit": {"value": 50, "unit": "kPa"},
    }

    assert set(faults(office, "kit-types", body)) == {"diameter_max", "usual_inflation"}


def test_a_file_that_is_not_as_declared_is_named_by_its_name(office: APIClient) -> None:
    """No memory address is shown to anybody."""
    sent = {
        "repair": str(RepairFactory().id),
        "kind": "other_photo",
        "file": SimpleUploadedFile("photo.jpg", b""),
    }

    answer = office.post(f"{API}/evidence", sent, format="multipart")

    error = check(answer, 422, "malformed")["errors"][0]
    assert (error["found"], error["expected"]) == (
        "the file 'photo.jpg'",
        "a file that is not empty",
    )


@pytest.mark.parametrize(
    ("path", "method", "allowed"),
    [
        ("repairs", "delete", "GET, HEAD"),
        ("customers", "put", "GET, HEAD, POST"),
        ("session", "patch", "DELETE, GET, HEAD, POST"),
        ("order-files", "get", "POST"),
    ],
)
def test_a_method_that_is_not_there_is_told_with_those_that_are(
    office: APIClient, path: str, method: str, allowed: str
) -> None:
    """405 with Allow, whoever asks: it is not a matter of the role."""
    answer = getattr(office, method)(f"{API}/{path}")

    body = check(answer, 405, "method_not_allowed")
    assert answer["Allow"] == allowed
    assert allowed in body["detail"]


@pytest.mark.parametrize(
    ("path", "known"),
    [
        ("repairs?colour=red", "stage"),
        ("repairs?Stage=closed", "stage"),  # case counts in an address
        ("runs?site=S-1", "cursor, page_size"),
        ("packages?stage=ready", "cursor, page_size"),
        ("evidence?repair=x&kind=y", "repair"),
    ],
)
def test_a_question_nobody_knows_is_refused(office: APIClient, path: str, known: str) -> None:
    """A misspelt filter would answer with everything."""
    error = check(office.get(f"{API}/{path}"), 422, "malformed")["errors"][0]

    assert error["field"] in path
    assert known in error["expected"]


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("repairs?live=banana", "yes or no"),
        ("repairs?live=true", "yes or no"),
        ("repairs?live=", "yes or no"),
        ("repairs?page_size=abc", "1 to 200"),
        ("runs?page_size=0", "1 to 200"),
        ("packages?page_size=201", "1 to 200"),
        ("runs?page_size=-1", "1 to 200"),
    ],
)
def test_an_answer_nobody_asked_for_is_not_given(
    office: APIClient, path: str, expected: str
) -> None:
    """What is no yes, no or number is refused with what would be right, not taken for another."""
    error = check(office.get(f"{API}/{path}"), 422, "malformed")["errors"][0]

    assert (error["field"], error["expected"]) == (
        path.partition("?")[2].partition("=")[0], expected,
    )  # fmt: skip


def test_repairs_are_live_or_not_and_come_as_many_as_asked(office: APIClient) -> None:
    """One under pressure, two ordered."""
    live = RepairFactory(stage="curing")
    for _ in range(2):
        RepairFactory()

    def ids(asked: str) -> list[str]:
        return [each["id"] for each in office.get(f"{API}/repairs?{asked}").json()["results"]]

    assert ids("live=yes") == [str(live.id)]
    assert len(ids("live=no")) == 2
    assert str(live.id) not in ids("live=no")
    assert len(ids("page_size=1")) == 1
    assert len(ids("page_size=200")) == 3


@pytest.mark.parametrize("path", ["verdicts", "hold-points", "nonconformances", "waivers"])
def test_proof_is_asked_for_by_attempt(office: APIClient, path: str) -> None:
    """An attempt that is over can be looked at; one that is not there is refused."""
    repair = RepairFactory(attempt=2)
    address = f"{API}/repairs/{repair.id}/{path}"

    assert office.get(f"{address}?attempt=1").status_code == 200
    error = check(office.get(f"{address}?attempt=3"), 422, "malformed")["errors"][0]
    assert (error["field"], error["found"], error["expected"]) == ("attempt", "'3'", "1 to 2")
    check(office.get(f"{address}?atempt=1"), 422, "malformed")


def test_the_address_of_a_problem_leads_to_its_explanation(office: APIClient) -> None:
    """Also for somebody who is not signed in."""
    address = check(office.delete(f"{API}/repairs"), 405, "method_not_allowed")["type"]

    page = APIClient().get(address.partition("#")[0])

    assert page.status_code == 200
    assert page["Content-Type"] == "text/plain; charset=utf-8"
    assert "`method_not_allowed`" in page.content.decode()
