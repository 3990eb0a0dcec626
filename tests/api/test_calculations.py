"""The calculations over the API: found, run, refused; nothing is stored."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from qa.calculations.calculation import answer
from qa.calculations.registry import CALCULATIONS
from repairs.models import Account
from tests.api.test_problems import check
from tests.callers import API, signed_in

pytestmark = pytest.mark.django_db
WRITES = ("INSERT", "UPDATE", "DELETE")


def test_the_list_teaches_each_calculation(dispatcher: Account) -> None:
    """What it answers, what it takes with units and bounds, and an example that runs as it is."""
    client = signed_in(dispatcher)

    listed = client.get(f"{API}/calculations").json()

    assert [each["name"] for each in listed] == list(CALCULATIONS)
    for each in listed:
        assert each["answers"].endswith("?")
        assert all(field["meaning"] and field["takes"] for field in each["takes"])
        found = client.post(f"{API}/calculations/{each['name']}", each["example"])
        assert found.status_code == 200, found.content


def test_a_calculation_stores_nothing(crew_lead: Account) -> None:
    """No row is written, whatever is asked."""
    client = signed_in(crew_lead)
    with CaptureQueriesContext(connection) as queries:
        for name, each in CALCULATIONS.items():
            client.post(f"{API}/calculations/{name}", dict(each.example))

    assert [query for query in queries if query["sql"].startswith(WRITES)] == []


@pytest.mark.parametrize("name", ["resin", "cure-clock", "hold-test"])
def test_the_api_answers_what_the_core_answers(dispatcher: Account, name: str) -> None:
    """The same figures, working, source and caution as without any server."""
    calculation = CALCULATIONS[name]

    found = signed_in(dispatcher).post(f"{API}/calculations/{name}", dict(calculation.example))

    assert found.json() == answer(calculation, calculation.example, now=datetime.now(UTC))


def test_malformed_input_is_a_problem_of_its_field(dispatcher: Account) -> None:
    """RFC 9457, each field with what was found and what would be right."""
    example = {**CALCULATIONS["inflation-window"].example, "diameter": 200, "packr": 1}

    body = check(
        signed_in(dispatcher).post(f"{API}/calculations/inflation-window", example),
        422,
        "malformed",
    )

    assert {error["field"] for error in body["errors"]} == {"diameter", "packr"}
    assert [e["found"] for e in body["errors"] if e["field"] == "diameter"] == ["200"]


def test_an_unknown_calculation_is_not_there(dispatcher: Account) -> None:
    """As any address that leads nowhere."""
    check(signed_in(dispatcher).post(f"{API}/calculations/lunch", {}), 404, "not_found")


def test_the_schema_describes_each_calculation(dispatcher: Account) -> None:
    """OpenAPI names its fields and carries the example."""
    asked = signed_in(dispatcher).get(
        f"{API}/schema", headers={"Accept": "application/vnd.oai.openapi+json"}
    )
    paths = asked.json()["paths"]

    for name, each in CALCULATIONS.items():
        content = paths[f"/api/v1/calculations/{name}"]["post"]["requestBody"]["content"]
        described = content["application/json"]
        assert set(described["schema"]["properties"]) == {field.name for field in each.takes}
        assert [example["value"] for example in described["examples"].values()] == [each.example]
