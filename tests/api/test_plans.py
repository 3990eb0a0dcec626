"""A week is planned over the API: asked, watched, read, supposed otherwise, compared, published."""

from datetime import timedelta
from typing import Any

import pytest
from rest_framework.test import APIClient

from dispatch.models import Plan
from duework.runner import run_due
from repairs.models import Account, Repair
from tests.callers import API, signed_in
from tests.dispatch.plan_rows import STEPS, Company, a_company, a_waiting_repair
from tests.factories import RepairFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


@pytest.fixture
def dora(dispatcher: Account) -> APIClient:
    """Return the dispatcher at the door."""
    return signed_in(dispatcher)


def asked(dora: APIClient, path: str, company: Company, **more: Any) -> dict[str, Any]:
    """Ask for a plan at an address, let it be made, and return it."""
    answer = dora.post(f"{API}/{path}", {"iterations": STEPS, **more})
    assert answer.status_code == 202, answer.json()
    run_due()
    run = dora.get(f"{API}/plan-runs/{answer.json()['id']}").json()
    assert (run["state"], run["percent"]) == ("done", 100), company
    return dict(dora.get(f"{API}/plans/{run['plan']}").json())


def first(dora: APIClient, company: Company, days: int = 1) -> dict[str, Any]:
    """Return the plan of tomorrow."""
    return asked(dora, "plans", company, starts_on=company.tomorrow.isoformat(), days=days)


def supposed(
    dora: APIClient, plan: dict[str, Any], company: Company, **change: Any
) -> dict[str, Any]:
    """Return the plan with something supposed."""
    return asked(dora, f"plans/{plan['id']}/what-if", company, changes=[change])


def crews(plan: dict[str, Any]) -> set[str]:
    """Return who goes out."""
    return {stop["crew"] for stop in plan["stops"]}


def test_a_plan_says_who_does_what_when_and_why_not(company: Company, dora: APIClient) -> None:
    """Stops with slack; what is refused with its code; the prices; what was supposed."""
    bare = RepairFactory()

    plan = first(dora, company)

    assert len(plan["stops"]) == len(company.repairs)
    assert all(stop["slack_s"] >= 0 and stop["street"] for stop in plan["stops"])
    assert [(row["repair"], row["code"]) for row in plan["refused"]] == [
        (str(bare.pk), "no_prescription")
    ]
    assert (plan["state"], plan["travel_source"], plan["changes"]) == ("draft", "estimated", [])
    assert plan["weights"]["a_s"] > plan["weights"]["b_s"]
    assert {each["kind"] for each in plan["differences"]} == {"new"}


def test_a_crew_that_drops_out_leaves_its_work_to_the_other(
    company: Company, dora: APIClient
) -> None:
    """What if crew one stays at home: crew two has what fits, the rest has reasons and no crew."""
    plan = first(dora, company)
    one = company.crews[0].code

    other = supposed(
        dora, plan, company, kind="crew away", crew=one, on=company.tomorrow.isoformat()
    )

    assert crews(other) == {company.crews[1].code}
    assert other["derived_from"] == plan["id"]
    assert [each["code"] for each in other["crews_left_out"]] == ["away"]
    assert other["supposed"] == [f"crew {one} does not go out on {company.tomorrow}"]
    assert len(other["left_out"]) == 2
    assert all(row["code"] == "shift_too_short" for row in other["left_out"])


def test_a_late_crew_begins_later(company: Company, dora: APIClient) -> None:
    """Each of its starts is no earlier than its hours plus what it is late."""
    plan = first(dora, company)
    one = company.crews[0].code

    other = supposed(
        dora,
        plan,
        company,
        kind="crew late",
        crew=one,
        on=company.tomorrow.isoformat(),
        minutes=60,
    )

    was = min(stop["starts_at"] for stop in plan["stops"] if stop["crew"] == one)
    late = [stop["starts_at"] for stop in other["stops"] if stop["crew"] == one]
    assert not late or min(late) > was
    assert other["left_out"] or other["figures"]["overtime_s"] >= plan["figures"]["overtime_s"]


def test_a_broken_packer_grounds_its_crew(company: Company, dora: APIClient) -> None:
    """The crew has no other: nothing is planned for it."""
    plan = first(dora, company)
    packer = company.crews[0].equipment.get()

    other = supposed(dora, plan, company, kind="packer out", serial=packer.serial)

    assert crews(other) == {company.crews[1].code}
    assert all("packer_does_not_fit" in row["counted"] for row in other["left_out"])


def test_an_urgent_repair_comes_first(dispatcher: Account, dora: APIClient) -> None:
    """One crew has room for two of three: the urgent one is among them."""
    company = a_company(dispatcher, crews=1, repairs=3)
    plan = first(dora, company)
    left = plan["left_out"][0]["repair"]

    other = supposed(dora, plan, company, kind="urgent", repair=left)

    assert left in {stop["repair"] for stop in other["stops"]}
    assert other["figures"]["left_out_a"] == 0


def test_in_the_rain_nobody_works_where_the_flow_must_be_low(
    company: Company, dora: APIClient
) -> None:
    """The one that waits for a low flow moves to the dry day; the others stay."""
    opens = company.tomorrow
    windows = [
        {
            "why": "low flow",
            "opens_at": f"{opens + timedelta(days=n)}T06:00:00+00:00",
            "closes_at": f"{opens + timedelta(days=n)}T20:00:00+00:00",
        }
        for n in range(2)
    ]
    wet = a_waiting_repair(9, windows=windows, priority="A")
    plan = first(dora, company, days=2)

    other = supposed(dora, plan, company, kind="no work", on=opens.isoformat(), low_flow=True)

    on = {stop["repair"]: stop["on"] for stop in other["stops"]}
    assert on[str(wet.pk)] == (opens + timedelta(days=1)).isoformat()
    assert len(other["stops"]) == len(company.repairs) + 1


def test_plans_stand_side_by_side(company: Company, dora: APIClient) -> None:
    """Figures of both, and each difference from the first with its cause and numbers."""
    plan = first(dora, company)
    one = company.crews[0].code
    other = supposed(
        dora, plan, company, kind="crew away", crew=one, on=company.tomorrow.isoformat()
    )

    both = dora.get(f"{API}/plans/side-by-side", {"plan": [plan["id"], other["id"]]}).json()

    assert [each["plan"]["id"] for each in both] == [plan["id"], other["id"]]
    assert both[0]["differences"] == []
    lost = {stop["repair"]: stop["name"] for stop in plan["stops"] if stop["crew"] == one}
    changed = {each["repair"]: each for each in both[1]["differences"]}
    assert set(lost.values()) <= set(changed)
    for name in lost.values():
        assert changed[name]["cause"]["code"] == "crew_day_gone"
        assert changed[name]["forced"]


def test_a_stop_is_moved_by_hand_or_refused_with_numbers(
    dispatcher: Account, dora: APIClient
) -> None:
    """To a free crew it may go; to the yard's other end of the day it may not."""
    company = a_company(dispatcher, crews=2, repairs=1)
    plan = first(dora, company)
    stop = plan["stops"][0]
    free = next(crew.code for crew in company.crews if crew.code != stop["crew"])

    moved = dora.post(
        f"{API}/plans/{plan['id']}/move", {"repair": stop["repair"], "crew": free, "pin": True}
    )
    never = dora.post(
        f"{API}/plans/{plan['id']}/move",
        {"repair": stop["repair"], "crew": free, "on": "2020-01-01"},
    )

    assert moved.status_code == 201
    assert crews(moved.json()) == {free}
    assert (moved.json()["method"], moved.json()["derived_from"]) == ("by hand", plan["id"])
    pin = dora.get(f"{API}/pins").json()["results"][0]
    assert (pin["repair"], pin["crew"]) == (stop["repair"], free)
    assert never.status_code == 409
    assert never.json()["code"] == "plan_refused"
    assert never.json()["reasons"][0]["code"] == "crew_day_gone"
    assert crews(first(dora, company)) == {free}  # the pin holds in the next plan


def test_each_way_in_that_is_offered_can_be_taken(dispatcher: Account, dora: APIClient) -> None:
    """One crew, room for two of three: the A that is left out takes a lower one's place."""
    company = a_company(dispatcher, crews=1, repairs=3)
    plan = first(dora, company)
    left = plan["left_out"][0]
    Repair.objects.filter(pk=left["repair"]).update(priority="A")
    Repair.objects.exclude(pk=left["repair"]).update(priority="C")
    kept = move(dora, plan, repair=left["repair"])  # nowhere: only its reasons are asked anew
    ways = kept["left_out"][0]["ways_in"]

    assert ways
    for way in ways:
        moved = move(
            dora,
            plan,
            repair=left["repair"],
            crew=way["crew"],
            on=way["on"],
            number=way["number"],
            instead_of=way["instead_of_repair"],
        )
        assert left["repair"] in {stop["repair"] for stop in moved["stops"]}
        assert way["instead_of_repair"] in {row["repair"] for row in moved["left_out"]}


def move(dora: APIClient, plan: dict[str, Any], **put: Any) -> dict[str, Any]:
    """Put a repair elsewhere by hand; it must be possible."""
    answer = dora.post(f"{API}/plans/{plan['id']}/move", put)
    assert answer.status_code == 201, answer.json()
    return dict(answer.json())


def test_the_load_out_list_names_lots_gear_and_what_is_missing(
    company: Company, dora: APIClient
) -> None:
    """Before and after publishing the same: kits by lot, the packer, nothing missing."""
    plan = first(dora, company)
    before = dora.get(f"{API}/plans/{plan['id']}/load-out").json()

    dora.post(f"{API}/plans/{plan['id']}/publish")

    after = dora.get(f"{API}/plans/{plan['id']}/load-out", {"on": plan["starts_on"]}).json()
    assert after == before
    for truck in before:
        assert sum(each["quantity"] for each in truck["kits"]) == len(truck["repairs"])
        assert truck["missing"] == []
        assert [each["kind"] for each in truck["packers"]] == ["packer"]
        assert all(each["lot"] for each in truck["kits"])


def test_published_over_the_api_the_crews_have_their_assignments(
    company: Company, dora: APIClient
) -> None:
    """Twice answers the same; the assignments are those of the plan."""
    plan = first(dora, company)

    answers = [dora.post(f"{API}/plans/{plan['id']}/publish") for _ in range(2)]

    assert [each.status_code for each in answers] == [200, 200]
    assert answers[0].json() == answers[1].json()
    rows = dora.get(f"{API}/assignments").json()["results"]
    assert {row["repair_id"]: row["starts_at"] for row in rows} == {
        stop["repair"]: stop["starts_at"] for stop in plan["stops"]
    }
    assert Plan.objects.get(pk=plan["id"]).state == Plan.PUBLISHED


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"kind": "crew late", "crew": "CREW-0", "on": "2026-11-30"}, "changes[0].minutes"),
        ({"kind": "crew away", "on": "2026-11-30"}, "changes[0].crew"),
        ({"kind": "no work", "on": "2026-11-30"}, "changes[0].sites"),
        ({"kind": "price", "price": "a_s", "value": 1, "crew": "CREW-0"}, "changes[0].crew"),
        ({"kind": "price", "price": "a_s", "value": 1}, "prices"),
        ({"kind": "packer out", "serial": "nobody's"}, "changes[0].serial"),
        ({"kind": "snow"}, "changes[0].kind"),
    ],
)
def test_a_supposition_that_makes_no_sense_is_named(
    company: Company, dora: APIClient, change: dict[str, Any], field: str
) -> None:
    """Which field, what was found, what would be right; and no run is begun."""
    plan = first(dora, company)

    answer = dora.post(f"{API}/plans/{plan['id']}/what-if", {"changes": [change]})

    assert answer.status_code == 422
    assert field in {each["field"] for each in answer.json()["errors"]}
    assert len(dora.get(f"{API}/plan-runs").json()["results"]) == 1


def test_a_day_outside_the_plan_is_not_supposed(company: Company, dora: APIClient) -> None:
    """The days before and after it are named with those that would be right."""
    plan = first(dora, company)
    day = company.tomorrow
    changes = [
        {"kind": "crew away", "crew": "CREW-0", "on": (day + timedelta(days=n)).isoformat()}
        for n in (0, 1, -1)
    ]

    answer = dora.post(f"{API}/plans/{plan['id']}/what-if", {"changes": changes})

    assert answer.status_code == 422
    assert [(each["field"], each["expected"]) for each in answer.json()["errors"]] == [
        (f"changes[{n}].on", f"a day of the plan, {day} to {day}") for n in (1, 2)
    ]
    assert len(dora.get(f"{API}/plan-runs").json()["results"]) == 1


def test_a_second_run_of_the_same_days_is_refused_with_its_percentage(
    company: Company, dora: APIClient
) -> None:
    """And may be called off by its id."""
    body = {"starts_on": company.tomorrow.isoformat(), "days": 2}
    run = dora.post(f"{API}/plans", body).json()

    again = dora.post(f"{API}/plans", body)
    gone = dora.post(f"{API}/plan-runs/{run['id']}/cancel").json()

    assert again.status_code == 409
    assert (again.json()["code"], again.json()["run"]) == ("plan_under_way", run["id"])
    assert again.json()["percent"] == 0
    assert gone["state"] == "cancelled"
    assert dora.post(f"{API}/plans", body).status_code == 202


def test_the_prices_are_the_companys(company: Company, dora: APIClient) -> None:
    """Set once, they hold in each plan from then on; an order without sense is refused."""
    wrong = dora.post(f"{API}/plan-prices", {"prices": {"c_s": 10**8}})
    unknown = dora.post(f"{API}/plan-prices", {"prices": {"fuel": 1}})
    right = dora.post(f"{API}/plan-prices", {"prices": {"change_s": 60}, "reason": "invented"})

    assert wrong.status_code == unknown.status_code == 422
    assert right.json()["change_s"] == {"value": 60, "usual": 1200}
    assert first(dora, company)["weights"]["change_s"] == 60


def test_a_crews_days_are_set_over_the_api(company: Company, dora: APIClient) -> None:
    """Yard, lunch, hours and a day off; the plan leaves the crew at home that day."""
    crew = company.crews[0]
    path = f"{API}/crews/{crew.pk}"
    half = {"lunch_min": 30, "lunch_from": "11:30"}

    tag = dora.get(f"{path}/planning")["ETag"]

    def change(body: dict[str, Any], seen: str = tag) -> Any:
        return dora.patch(f"{path}/planning", body, headers={"If-Match": seen})

    assert change(half).status_code == 422
    told = change({**half, "lunch_until": "13:00"})
    assert change({"most_overtime_min": 30}).status_code == 412  # somebody was faster
    off = dora.post(f"{path}/hours", {"on": company.tomorrow.isoformat(), "note": "holiday"})
    both = dora.post(f"{path}/hours", {"on": "2026-12-24", "weekday": 1})

    assert told.json()["lunch_min"] == 30
    assert off.status_code == 201
    assert both.status_code == 422
    plan = first(dora, company)
    assert crews(plan) == {company.crews[1].code}
    assert plan["crews_left_out"][0]["words"].endswith("off: holiday")
