"""Every refusal is an RFC 9457 problem with a stable code that the documentation explains."""

import json
from pathlib import Path
from typing import Any

import pytest
from rest_framework.test import APIClient

from config.problems import TITLES
from repairs.models import Account
from tests.api.example_catalogue import CATALOGUE, CHART, CONTRACT, KIT, RESIN
from tests.callers import API, post_event, signed_in
from tests.factories import AccountFactory, KitTypeFactory, RepairFactory

pytestmark = pytest.mark.django_db
NOWHERE = "018f2d6e-7c1a-7b60-9a53-2f1a4f6f9f10"
ERRORS = Path(__file__).parents[2] / "docs" / "errors.md"


def check(answer: Any, status: int, code: str) -> dict[str, Any]:
    """Hold an answer to RFC 9457 and return its body."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"].split(";")[0] == "application/problem+json"
    body = dict(answer.json())
    assert {"type", "title", "status", "detail", "code"} <= set(body)
    assert (body["status"], body["code"], body["title"]) == (status, code, TITLES[code])
    assert body["type"].endswith(f"#{code}")
    assert body["detail"]
    for error in body.get("errors", []):
        assert set(error) == {"field", "found", "expected"}
    return body


@pytest.fixture
def office(dispatcher: Account) -> APIClient:
    """Return the dispatcher at the door."""
    return signed_in(dispatcher)


def test_nobody_is_told_to_sign_in() -> None:
    """401 with the way to sign in."""
    answer = APIClient().get(f"{API}/repairs")

    check(answer, 401, "not_signed_in")
    assert answer["WWW-Authenticate"] == "Bearer"


@pytest.mark.parametrize("header", ["Bearer", "Bearer a b", "Bearer unknown", "Bearer \xff"])
def test_a_bad_token_is_no_sign_in(header: str) -> None:
    """Whatever is wrong with it."""
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=header)

    check(client.get(f"{API}/repairs"), 401, "not_signed_in")


def test_a_revoked_token_and_a_closed_account_are_out_at_once(
    office: APIClient, crew_lead: Account
) -> None:
    """The next request of a lost phone is refused; so is everybody of a closed account."""
    body = {"username": crew_lead.username, "label": "invented phone"}
    tokens = [office.post(f"{API}/device-tokens", body).json() for _ in range(2)]
    phones = [APIClient(), APIClient()]
    for phone, token in zip(phones, tokens, strict=True):
        phone.credentials(HTTP_AUTHORIZATION=f"Bearer {token['token']}")
        assert phone.get(f"{API}/session").status_code == 200

    office.delete(f"{API}/device-tokens/{tokens[0]['id']}")
    check(phones[0].get(f"{API}/session"), 401, "not_signed_in")
    assert phones[1].get(f"{API}/session").status_code == 200
    crew_lead.is_active = False
    crew_lead.save()
    check(phones[1].get(f"{API}/session"), 401, "not_signed_in")


def test_only_the_digest_of_a_token_is_kept(office: APIClient, crew_lead: Account) -> None:
    """The token is shown once; nothing in the database gives it back."""
    body = {"username": crew_lead.username, "label": "invented phone"}
    token = office.post(f"{API}/device-tokens", body).json()["token"]

    row = crew_lead.device_tokens.get()

    assert len(token) >= 43  # 256 bits in base64
    assert token not in json.dumps([row.digest, row.label, str(row.id)])


def test_a_wrong_role_is_not_allowed(reviewer: Account) -> None:
    """403 says it is the role."""
    check(signed_in(reviewer).post(f"{API}/customers", {}), 403, "not_allowed")


@pytest.mark.parametrize("path", ["repairs", "runs", "packages"])
def test_what_is_not_there_and_what_is_not_yours_look_the_same(
    client_user: Account, path: str
) -> None:
    """The answer does not tell whether a stranger's object exists."""
    stranger = RepairFactory()
    there = str(stranger.run.id if path == "runs" else stranger.id)
    town = signed_in(client_user)

    foreign = check(town.get(f"{API}/{path}/{there}"), 404, "not_found")
    nothing = check(town.get(f"{API}/{path}/{NOWHERE}"), 404, "not_found")

    assert foreign == nothing


def test_an_address_that_leads_nowhere_is_a_problem_too(office: APIClient) -> None:
    """Also outside the views."""
    check(office.get(f"{API}/lunch"), 404, "not_found")
    check(office.get(f"{API}/repairs/seven"), 404, "not_found")


def test_a_body_that_is_no_json_is_malformed(office: APIClient) -> None:
    """400 says what the reader stumbled on."""
    answer = office.post(f"{API}/customers", "{", content_type="application/json")

    check(answer, 400, "malformed")


def test_another_content_type_is_refused(office: APIClient) -> None:
    """A form where JSON is asked for."""
    answer = office.post(f"{API}/customers", "a=b", content_type="text/plain")

    check(answer, 415, "wrong_media_type")


def test_a_field_nobody_knows_is_named(office: APIClient) -> None:
    """A misspelt field is never lost silently."""
    body = check(
        office.post(f"{API}/customers", {"code": "A", "name": "B", "nmae": "C"}), 422, "malformed"
    )

    assert [error["field"] for error in body["errors"]] == ["nmae"]


def test_signing_in_too_often_has_to_wait() -> None:
    """The twenty-first try of a minute is told how long to wait."""
    client = APIClient()
    body = {"username": "nobody", "password": "guess"}
    tries = [client.post(f"{API}/session", body) for _ in range(21)]

    assert {answer.status_code for answer in tries[:20]} == {401}
    check(tries[20], 429, "too_many_requests")
    assert 0 < int(tries[20]["Retry-After"]) <= 60


def test_signing_in_begins_a_session_and_leaving_ends_it() -> None:
    """Name and password, then who am I, then out."""
    account = AccountFactory(username="someone")
    account.set_password("an invented password")
    account.save()
    client = APIClient()
    wrong = client.post(f"{API}/session", {"username": "someone", "password": "another"})
    right = client.post(
        f"{API}/session", {"username": "someone", "password": "an invented password"}
    )

    check(wrong, 401, "not_signed_in")
    assert right.json()["role"] == "dispatcher"
    assert client.get(f"{API}/session").json()["username"] == "someone"
    assert client.delete(f"{API}/session").status_code == 204
    check(client.get(f"{API}/session"), 401, "not_signed_in")


def test_a_session_needs_its_csrf_token(dispatcher: Account) -> None:
    """A page of somebody else cannot post in a signed-in person's name."""
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(dispatcher)

    answer = client.post(f"{API}/customers", {"code": "A", "name": "B"})

    check(answer, 403, "not_allowed")


@pytest.mark.parametrize("route", CATALOGUE)
def test_the_same_code_or_version_again_is_already_there(office: APIClient, route: str) -> None:
    """What is entered once is never changed by entering it again."""
    KitTypeFactory()
    assert office.post(f"/{route}", CATALOGUE[route]).status_code == 201

    check(office.post(f"/{route}", CATALOGUE[route]), 409, "already_there")


@pytest.mark.parametrize(
    ("route", "body", "field"),
    [
        ("resin-systems", {**RESIN, "ratio_basis": None}, "ratio_basis"),  # 17 % if confused
        ("resin-systems", {**RESIN, "ratio_a": 10**400}, "ratio_a"),
        ("resin-systems", {**RESIN, "density_a": 1450}, "density_a"),
        ("charts", {**CHART, "rows": []}, "rows"),
        ("charts", {**CHART, "rows": CHART["rows"][:1] * 2}, "rows"),  # twice the same row
        ("charts", {**CHART, "resin_system": "RESIN-9"}, "resin_system"),
        ("charts", {**CHART, "diameter_max": {"value": 100, "unit": "mm"}}, "diameter_max"),
        ("charts", {**CHART, "source": ""}, "source"),
        ("charts", {**CHART, "version": "one\x00two"}, "version"),
        ("kit-types", {**KIT, "sleeve_lengths_m": []}, "sleeve_lengths_m"),
        ("kit-types", {**KIT, "limit": {"value": 10**400, "unit": "kPa"}}, "limit"),
        ("kit-types", {**KIT, "limit": {"value": 50, "unit": "m"}}, "limit"),
        ("kit-types", {**KIT, "contents": ["a\x00b"]}, "contents"),
        ("requirement-sets", {**CONTRACT, "requirements": [{"code": "lunch"}]}, "requirements"),
        ("requirement-sets", {**CONTRACT, "requirements": [{"code": ["a"]}]}, "requirements"),
        ("requirement-sets", {**CONTRACT, "limits": {}}, "limits"),
        ("requirement-sets", {**CONTRACT, "fitness_rules": [{}]}, "fitness_rules"),
        (
            "requirement-sets",
            {**CONTRACT, "fitness_rules": [{**CONTRACT["fitness_rules"][0], "reason": "\x00"}]},
            "fitness_rules",
        ),
        (
            "requirement-sets",
            {**CONTRACT, "requirements": [{"code": "hold_test", "source": "half \ud83d"}]},
            "requirements",
        ),
        ("sites", {"customer": "TOWN-ONE", "ref": "S", "time_zone": "Mars/Base"}, "time_zone"),
    ],
)
def test_a_catalogue_entry_that_makes_no_sense_is_named(
    office: APIClient, customer: Any, route: str, body: dict[str, Any], field: str
) -> None:
    """Field, found and expected; never a 500 on any database."""
    KitTypeFactory()
    assert customer.code == "TOWN-ONE"

    answer = office.post(f"{API}/{route}", json.dumps(body), content_type="application/json")

    errors = check(answer, 422, "malformed")["errors"]
    assert errors[0]["field"].startswith(field)


def test_every_code_has_a_title_and_a_place_in_the_documentation() -> None:
    """The first table of docs/errors.md explains each code, and no other."""
    lines = ERRORS.read_text(encoding="utf-8").partition("\n## ")[0].splitlines()
    rows = [line.split("|")[1].strip(" `") for line in lines if line.startswith("| `")]

    assert sorted(rows) == sorted(TITLES)


def test_an_answer_carries_the_id_it_is_logged_under(office: APIClient) -> None:
    """A well-formed id of the caller is kept, anything else is replaced."""
    own = office.get(f"{API}/repairs", headers={"X-Request-Id": "invented-id-7"})
    bad = office.get(f"{API}/repairs", headers={"X-Request-Id": "no good\n"})

    assert own["X-Request-Id"] == "invented-id-7"
    assert bad["X-Request-Id"] not in ("", "no good")


def test_an_unknown_repair_in_an_event_is_not_found(office: APIClient) -> None:
    """The problem names the subject."""
    sent = {
        "specversion": "1.0",
        "id": NOWHERE,
        "source": "invented phone",
        "type": "curewright.field.arrived",
        "subject": NOWHERE,
        "time": "2026-11-25T09:30:00Z",
    }

    body = check(post_event(office, sent), 404, "not_found")

    assert body["errors"][0]["field"] == "subject"
