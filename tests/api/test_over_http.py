"""The service from outside: a running server, an independent client, outside parsers."""

import json
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import geojson
import pytest
import requests
from dateutil.parser import isoparse

from tests.field_sequence import event, quantity
from tests.live_server import TIMEOUT_S, Live

pytestmark = pytest.mark.slow
MINUTE = timedelta(minutes=1)
CLOUDEVENT = {"Content-Type": "application/cloudevents+json"}
BATCH = {"Content-Type": "application/cloudevents-batch+json"}


def now() -> datetime:
    """Return the present."""
    return datetime.now(UTC)


def soon(ask: Callable[[], Any]) -> Any:
    """Ask again until there is an answer; the worker needs a moment."""
    deadline = time.monotonic() + TIMEOUT_S
    while time.monotonic() < deadline:
        if found := ask():
            return found
        time.sleep(0.2)
    pytest.fail("no answer within the time")


def test_it_is_alive_and_ready(live: Live) -> None:
    """Health means the process serves; readiness that the database and a runner are there."""
    assert requests.get(f"{live.base_url}/healthz", timeout=TIMEOUT_S).json() == {"status": "alive"}
    ready = requests.get(f"{live.base_url}/readyz", timeout=TIMEOUT_S)

    assert ready.status_code == 200
    assert ready.json()["runners_alive"] >= 1


def test_a_stranger_is_told_to_sign_in(live: Live) -> None:
    """Over the wire the problem has its media type and the way to sign in."""
    answer = requests.get(f"{live.api}/repairs", timeout=TIMEOUT_S)

    assert answer.status_code == 401
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_without_the_csrf_token_a_session_may_not_post(live: Live) -> None:
    """Another site cannot post in the name of who is signed in."""
    session = live.sign_in("dispatcher")
    del session.headers["X-CSRFToken"]

    answer = session.post(
        f"{live.api}/customers", json={"code": "A", "name": "B"}, timeout=TIMEOUT_S
    )

    assert answer.status_code == 403


def test_a_crew_reports_and_asks_the_clock(live: Live) -> None:
    """Signed in by token: post, post again, ask; every time is ISO 8601 with its offset."""
    phone = _phone(live)
    repair = live.told["repair"]
    mixed = now() - 30 * MINUTE
    mixing = event(
        repair,
        "mixing_started",
        mixed,
        {
            "resin_temperature": quantity(68, "degF"),
            "kit_lot": "LOT-X",
            "lot_a": "A",
            "lot_b": "B",
        },
    )
    address = f"{live.api}/field-events"

    first = phone.post(address, json=mixing, headers=CLOUDEVENT, timeout=TIMEOUT_S)
    again = phone.post(address, json=mixing, headers=CLOUDEVENT, timeout=TIMEOUT_S)
    inflated = event(repair, "inflated", mixed + 18 * MINUTE, {"pressure": quantity(4.8, "psi")})
    batch = phone.post(address, json=[inflated, {}], headers=BATCH, timeout=TIMEOUT_S)
    progress = phone.get(f"{live.api}/repairs/{repair}/progress", timeout=TIMEOUT_S).json()

    assert (first.status_code, again.status_code) == (201, 200)
    assert [item["status"] for item in batch.json()] == ["stored", "not understood"]
    assert progress["stage"] == "curing"
    for step in progress["steps"]:
        times = [isoparse(step[name]) for name in ("earliest", "at", "latest")]
        assert all(at.tzinfo is not None for at in times)
        assert times == sorted(times)
    assert isoparse(progress["steps"][0]["at"]) <= mixed


def _phone(live: Live) -> requests.Session:
    office = live.sign_in("dispatcher")
    body = {"username": live.told["lead"], "label": "invented phone"}
    token = office.post(f"{live.api}/device-tokens", json=body, timeout=TIMEOUT_S).json()["token"]
    phone = requests.Session()
    phone.headers["Authorization"] = f"Bearer {token}"
    phone.headers["Device-Time"] = now().isoformat()
    return phone


def test_a_prescribed_repair_has_both_clocks_and_its_reminders(live: Live) -> None:
    """Prescribed, assigned, mixed: the clock answers at once, the worker writes the reading."""
    office, phone = live.sign_in("dispatcher"), _phone(live)
    repair = _ordered(live, office)
    mixed = now() - 45 * MINUTE
    data = {"resin_temperature": quantity(20, "degC"), "kit_lot": "X", "lot_a": "A", "lot_b": "B"}
    for sent in (
        event(repair, "mixing_started", mixed, data),
        event(repair, "inflated", mixed + 15 * MINUTE, {"pressure": quantity(33, "kPa")}),
    ):
        answer = phone.post(
            f"{live.api}/field-events", json=sent, headers=CLOUDEVENT, timeout=TIMEOUT_S
        )
        assert answer.status_code == 201, answer.text

    clock = phone.get(f"{live.api}/repairs/{repair}/clock", timeout=TIMEOUT_S).json()

    hold = isoparse(clock["cure"]["hold_until"])
    assert clock["cure"]["status"] == "running"
    # The example chart holds 105 min at 20 degC, from inflation.
    assert hold >= mixed + 15 * MINUTE + timedelta(minutes=105) - timedelta(seconds=31)
    listed = phone.get(f"{live.api}/repairs", params={"live": "yes"}, timeout=TIMEOUT_S).json()
    assert repair in {row["id"] for row in listed["results"]}
    ready = soon(lambda: _nothing_due(live))
    assert ready


def _nothing_due(live: Live) -> bool:
    work = requests.get(f"{live.base_url}/readyz", timeout=TIMEOUT_S).json()
    return float(work["oldest_due_age_s"]) < 2


def _ordered(live: Live, office: requests.Session) -> str:
    """Order a repair by GeoJSON, prescribe it, assign it, and return its id."""
    ref = uuid4().hex[:8]
    line = geojson.LineString([(20.0, 10.0), (20.0001, 10.0003)])
    properties = {
        "work_order": f"WO-{ref}",
        "site": f"S-{ref}",
        "time_zone": "CET",
        "run": "R-1",
        "upstream": "AP-1",
        "downstream": "AP-2",
        "diameter_mm": 300,
        "material": "concrete",
        "length_m": 40,
        "groundwater_above_invert_m": 0.5,
        "repair": "1",
        "defect_code": "BAB",
        "defect_extent_m": 0.3,
        "datum": "AP-1",
        "distance_m": 14.2,
        "filmed_on": "2026-10-01",
        "infiltration": "none",
        "offset_mm": 0,
        "deformation_percent": 0,
        **dict.fromkeys(("roots", "deposits", "void_behind", "connection_in_sleeve"), False),
    }
    orders = geojson.FeatureCollection([geojson.Feature(geometry=line, properties=properties)])
    sets = office.get(f"{live.api}/requirement-sets", timeout=TIMEOUT_S).json()["results"]
    answer = office.post(
        f"{live.api}/order-files",
        data={"customer": "TOWN-LIVE", "requirement_set": sets[0]["id"]},
        files={"file": ("orders.geojson", geojson.dumps(orders))},
        timeout=TIMEOUT_S,
    )
    assert answer.json()["stored"] == 1, answer.text
    repair = str(answer.json()["rows"][0]["repair_id"])
    warm = quantity(20, "degC")
    office.post(
        f"{live.api}/repairs/{repair}/prescriptions",
        json={"wall_temperature": warm, "resin_temperature": warm},
        timeout=TIMEOUT_S,
    ).raise_for_status()
    start = now() + timedelta(days=30)
    body = {
        "repair": repair,
        "crew": live.told["crew"],
        "starts_at": start.isoformat(),
        "ends_at": (start + timedelta(hours=5)).isoformat(),
    }
    given = office.post(f"{live.api}/assignments", json=body, timeout=TIMEOUT_S)
    assert given.status_code == 201, given.text
    return repair


def test_a_client_sees_its_own_repairs_and_nobody_elses(live: Live) -> None:
    """Its own repair is there; every other one is 404, as if it did not exist."""
    town = live.sign_in("client")
    own = town.get(f"{live.api}/repairs/{live.told['repair']}", timeout=TIMEOUT_S)
    other = town.get(f"{live.api}/repairs/{live.told['spare'][0]}", timeout=TIMEOUT_S)

    assert (own.status_code, other.status_code) == (200, 404)


def test_a_body_beyond_the_limit_is_refused_over_the_wire(live: Live) -> None:
    """A megabyte and a byte is 413, and the server goes on serving."""
    phone = _phone(live)

    answer = phone.post(
        f"{live.api}/field-events", data=b"[" + b" " * 1_000_000, headers=BATCH, timeout=TIMEOUT_S
    )

    assert answer.status_code == 413
    assert requests.get(f"{live.base_url}/healthz", timeout=TIMEOUT_S).ok


def test_the_schema_is_openapi_3_1(live: Live) -> None:
    """It describes every API route and is there for whoever is signed in."""
    office = live.sign_in("dispatcher")
    answer = office.get(
        f"{live.api}/schema", headers={"Accept": "application/json"}, timeout=TIMEOUT_S
    )

    assert answer.status_code == 200
    assert answer.json()["openapi"].startswith("3.1")
    assert "/api/v1/field-events" in answer.json()["paths"]


def test_a_hundred_posts_of_one_event_at_once_are_one_event(live: Live) -> None:
    """A phone gone wild: one is stored, the others are told that it is there."""
    sent = event(live.told["repair"], "arrived", now())
    headers = {"Authorization": f"Bearer {live.told['crew_token']}", **CLOUDEVENT}

    def post(_number: int) -> requests.Response:
        for _ in range(5):
            answer = requests.post(
                f"{live.api}/field-events", json.dumps(sent), headers=headers, timeout=60
            )
            if answer.status_code != 503:  # busy: the same again, as it says
                break
        return answer

    with ThreadPoolExecutor(100) as crowd:
        answers = list(crowd.map(post, range(100)))

    codes = sorted(answer.status_code for answer in answers)
    assert codes == [200] * 99 + [201]
    assert {answer.json()["id"] for answer in answers} == {sent["id"]}
    steps = requests.get(
        f"{live.api}/repairs/{live.told['repair']}/progress", headers=headers, timeout=TIMEOUT_S
    ).json()["steps"]
    assert [step["id"] for step in steps].count(sent["id"]) == 1
