"""Every route and method answers every role as the table `expectations.csv` says.

Routes without `api/` are pages. Columns: `whose` is "own" for what belongs to town
and crew one, "other" for what belongs to town and crew two, "-" where nothing belongs
to anybody. A cell is the status a good request is answered with; "empty" is a list
answered 200 in which what the row is about does not stand.
"""

import csv
import itertools
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from django.db import transaction
from django.urls import URLPattern, get_resolver
from rest_framework.test import APIClient

from repairs.domain.roles import Role
from tests.api.two_towns import Town, a_town, body_of, headers_of
from tests.callers import signed_in, with_token

TABLE = Path(__file__).with_name("expectations.csv")
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
ROLES = ("anonymous", *(role.value for role in Role))
DEVICES = ("crew_member", "service")
"""At the API these come with a device token, the others with a session; a page knows no token."""
ENDS_OR_BEGINS_SESSIONS = ("api/v1/session", "login", "logout")
CLOSED = (401, 403, 405)
"""What a method that no row names may be answered with."""
EMPTY = "empty"
HEALTH = ("healthz", "readyz")
"""These two ask nothing of the caller and change nothing, whatever the method."""


class Door(NamedTuple):
    """A row of the table: one method of one route, tried on one owner's things."""

    route: str
    method: str
    whose: str


@cache
def table() -> dict[Door, dict[str, str]]:
    """Read the table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {
            Door(row["route"].removeprefix("/"), row["method"], row["whose"]): row
            for row in csv.DictReader(file)
        }


def routes() -> dict[str, tuple[str, ...]]:
    """Return each route of the service with the methods its view has."""
    return {path: _methods(pattern) for path, pattern in _walk(get_resolver(), "")}


def _walk(resolver: Any, before: str) -> Iterator[tuple[str, URLPattern]]:
    for each in resolver.url_patterns:
        path = before + str(each.pattern)
        if isinstance(each, URLPattern):
            yield path, each
        else:
            yield from _walk(each, path)


def _methods(pattern: URLPattern) -> tuple[str, ...]:
    view = getattr(pattern.callback, "cls", getattr(pattern.callback, "view_class", None))
    if view is None:
        return ("GET",)
    return tuple(method for method in METHODS if hasattr(view, method.lower()))


@pytest.fixture(scope="module")
def towns(module_rows: None) -> dict[str, Town]:  # noqa: ARG001 - keeps the rows
    """Make both towns once for the whole table."""
    own = a_town("ONE")
    return {"own": own, "other": a_town("TWO"), "-": own}


@pytest.fixture(scope="module")
def callers(towns: dict[str, Town]) -> dict[str, APIClient]:
    """Return a client for each role, all of town one."""
    people = towns["own"].people
    found = {"anonymous": APIClient()}
    for role in ROLES[1:]:
        found[role] = (with_token if role in DEVICES else signed_in)(people[role])
    return found


@pytest.fixture(scope="module")
def visitors(towns: dict[str, Town]) -> dict[str, APIClient]:
    """Return a browser for each role, all of town one."""
    return _visitors(towns["own"])


def _visitors(town: Town) -> dict[str, APIClient]:
    return {"anonymous": APIClient(), **{role: signed_in(town.people[role]) for role in ROLES[1:]}}


def knock(client: APIClient, door: Door, town: Town) -> Any:
    """Send a good request to a door and take back whatever it did."""
    path = "/" + door.route
    for name, value in town.ids.items():
        path = path.replace(f"<uuid:{name}>", value)
    atomic = transaction.atomic()
    atomic._from_testcase = True  # noqa: SLF001 - as Django's own TestCase
    with atomic:
        if door.method == "GET":
            response = client.get(path, _asked(door, town))
        else:
            response = _send(client, door, path, town)
        transaction.set_rollback(True)
    return response


def _asked(door: Door, town: Town) -> dict[str, str]:
    """Return what must be asked with an address for it to answer."""
    month = {"customer": town.going.work_order.customer.code, "month": "2031-03"}
    return {
        "api/v1/evidence": {"repair": str(town.done.id)},
        "api/v1/plans/side-by-side": {"plan": town.ids["plan_id"]},
        "api/v1/statements": month,
        "api/v1/statements/csv": month,
        "api/v1/statements/pdf": month,
        "statement": month,
        "plans/beside": {"plan": town.ids["plan_id"]},
    }.get(door.route, {})


def _send(client: APIClient, door: Door, path: str, town: Town) -> Any:
    body, kind = body_of(door.route, town)
    how: dict[str, Any] = {"format": kind} if kind == "multipart" else {"content_type": kind}
    how["headers"] = headers_of(door.route, door.method, town)
    return getattr(client, door.method.lower())(path, body, **how)


def answer_of(response: Any, door: Door, town: Town) -> str:
    """Return the answer in the table's words."""
    wanted = town.lists.get(door.route)
    if door.method == "GET" and wanted is not None and response.status_code == 200:
        return "200" if wanted in _listed(response) else EMPTY
    return str(response.status_code)


def _listed(response: Any) -> Any:
    if not response["Content-Type"].startswith("application/json"):
        return response.content.decode()
    body = response.json()
    return {row["id"] for row in (body if isinstance(body, list) else body["results"])}


@pytest.mark.django_db
@pytest.mark.parametrize("door", table(), ids=" ".join)
def test_each_role_is_answered_as_the_table_says(
    door: Door,
    towns: dict[str, Town],
    callers: dict[str, APIClient],
    visitors: dict[str, APIClient],
) -> None:
    """A good request of every role gets the expected status at this door, and no other."""
    town = towns[door.whose]
    expected = {role: table()[door][role] for role in ROLES}
    clients = callers if door.route.startswith("api/") else visitors
    if door.route in ENDS_OR_BEGINS_SESSIONS:
        clients = _visitors(town)

    found = {role: answer_of(knock(clients[role], door, town), door, town) for role in ROLES}

    assert found == expected


@pytest.mark.django_db
@pytest.mark.parametrize("route", [path for path in routes() if path not in HEALTH])
def test_a_method_that_no_row_names_is_closed(
    route: str,
    towns: dict[str, Town],
    callers: dict[str, APIClient],
    visitors: dict[str, APIClient],
) -> None:
    """Whoever tries a method the table does not have is turned away."""
    clients = callers if route.startswith("api/") else visitors
    named = {door.method for door in table() if door.route == route}
    others = [method for method in METHODS if method not in named]

    found = {
        (role, method): knock(clients[role], Door(route, method, "own"), towns["own"]).status_code
        for role, method in itertools.product(ROLES, others)
    }

    assert {key: status for key, status in found.items() if status not in _closed(route)} == {}


def _closed(route: str) -> tuple[int, ...]:
    # A page sends strangers to the sign-in page rather than answering 401.
    return CLOSED if route.startswith("api/") else (*CLOSED, 302)


def test_every_route_and_method_has_its_rows() -> None:
    """A route or method that the table does not have fails here until somebody decides on it."""
    served = {(route, method) for route, methods in routes().items() for method in methods}

    assert served == {(door.route, door.method) for door in table()}


def test_whatever_belongs_to_somebody_is_tried_on_both_owners() -> None:
    """Each door either has one row for nobody's things, or one for own and one for other."""
    owners: dict[tuple[str, str], set[str]] = {}
    for door in table():
        owners.setdefault((door.route, door.method), set()).add(door.whose)

    assert {key: whose for key, whose in owners.items() if whose not in GOOD} == {}
    named = {key for key in owners if "<uuid:" in key[0]}
    assert {key for key in named if owners[key] == {"-"}} == set()


GOOD = ({"-"}, {"own", "other"})


def test_the_table_is_sorted_for_its_readers() -> None:
    """Rows stand by route, then method, then own before other; none stands twice."""
    order = ("-", "own", "other")
    rows = list(table())

    assert rows == sorted(
        rows, key=lambda d: (d.route, METHODS.index(d.method), order.index(d.whose))
    )
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    assert len(lines) == len(rows) + 1
    assert lines[0].split(",")[:3] == ["route", "method", "whose"]


def test_no_client_or_crew_is_let_in_to_what_is_not_its_own() -> None:
    """In the table itself, another owner's thing is never 2xx for a client or a crew."""
    leaks = {
        (door, role): row[role]
        for door, row in table().items()
        if door.whose == "other"
        for role in ("anonymous", "crew_lead", "crew_member", "client")
        if row[role].startswith("2")
    }

    assert leaks == {}
