"""The last act: new orders, and what the crews do tomorrow."""

from datetime import date, timedelta
from typing import Any

from config.demo import town
from config.demo.day import CREWS, GOOD_LOT, Day, wait_for
from config.demo.in_the_office import packer
from config.demo.visitor import Visitor

NEW = (
    # repair, street, degrees north and east of the town, priority, due after so many days
    ("R-7", "Invented Lane", 0.050, 0.020, "A", 1),
    ("R-8", "Invented Lane", 0.052, 0.024, "B", 2),
    ("R-9", "Test Way", -0.020, 0.010, "C", None),
    ("R-10", "Sample Street", -0.030, 0.060, "B", None),
    ("R-11", "Sample Street", -0.032, 0.064, "C", None),
    ("R-12", "Example Row", -0.060, -0.040, "B", 1),
    ("R-13", "Mock Alley", 0.080, -0.050, "B", 2),
    ("R-14", "Mock Alley", 0.082, -0.052, "C", None),
    ("R-15", "Pretend Quay", 0.000, 0.100, "A", 1),
    ("R-16", "Figment Hill", -0.012, 0.008, "C", None),
    ("R-17", "Nowhere End", 0.030, -0.090, "C", None),
)
UNPRESCRIBED = "R-9"
DAYS, SEARCH_S = 2, 2
KITS = 10


def plan_tomorrow(day: Day) -> None:
    """Order more repairs, plan two days, suppose a crew away, and send the crews."""
    day.account.act("12. Tomorrow and the day after are planned")
    dora = day.visitor("dora")
    tomorrow = day.now.astimezone(day.zone).date() + timedelta(days=1)
    _order(day, dora)
    _say_when_crews_work(dora, tomorrow)
    plan = _made(
        dora,
        "/plans",
        {
            "starts_on": tomorrow.isoformat(),
            "days": DAYS,
            "search_s": SEARCH_S,
            "label": "as it is",
        },
    )
    _tell(day, plan)
    away = {"kind": "crew away", "crew": CREWS[1], "on": tomorrow.isoformat()}
    other = _made(
        dora,
        f"/plans/{plan['id']}/what-if",
        {"changes": [away], "search_s": 1, "label": "without South"},
    )
    day.account.say(
        f"what if crew South stays at home tomorrow: {len(other['stops'])} served instead of "
        f"{len(plan['stops'])}"
    )
    _send(day, plan)


def _made(dora: Visitor, path: str, body: dict[str, Any]) -> dict[str, Any]:
    """Ask for a plan, wait for it, and return it."""
    watched = f"/plan-runs/{dora.post(path, body)['id']}"
    wait_for(lambda: dora.get(watched)["state"] == "done", "the plan")
    found: dict[str, Any] = dora.get(f"/plans/{dora.get(watched)['plan']}")
    return found


def _tell(day: Day, plan: dict[str, Any]) -> None:
    for stop in plan["stops"]:
        day.account.say(
            f"{stop['name']}: crew {stop['crew'].title()}, {day.hour(stop['starts_at'])} to "
            f"{day.hour(stop['ends_at'])}, may come {stop['slack_s'] // 60} min later"
        )
    for row in plan["refused"]:
        day.account.say(f"{row['name']} is not planned: {row['words']}")
    for row in plan["left_out"]:
        day.account.say(f"{row['name']} is left out: {row['words']}")


def _send(day: Day, plan: dict[str, Any]) -> None:
    dora = day.visitor("dora")
    dora.post(f"/plans/{plan['id']}/publish")
    for truck in dora.get(f"/plans/{plan['id']}/load-out"):
        kits = ", ".join(f"{each['quantity']} of lot {each['lot']}" for each in truck["kits"])
        day.account.say(f"crew {truck['crew'].title()} loads {kits}")
    told = [row for row in dora.get("/notices")["results"] if row["code"] == "plan_changed"]
    day.account.say(f"published: {len(told)} crew(s) told, each what changed for it")


def _order(day: Day, dora: Visitor) -> None:
    first = day.now.astimezone(day.zone).date() + timedelta(days=1)
    rows = [_row(day, number, first) for number in range(len(NEW))]
    answer = dora.post("/work-orders", {"customer": "TOWN", "rows": rows})
    warm = {"value": 22, "unit": "degC"}
    body = {"wall_temperature": warm, "resin_temperature": warm}
    for each in answer["rows"]:
        if each["repair"] != UNPRESCRIBED:
            dora.post(f"/repairs/{each['repair_id']}/prescriptions", body)
    day.account.say(
        f"{NEW[0][0]} to {NEW[-1][0]} are ordered; {UNPRESCRIBED} has no prescription yet"
    )


def _row(day: Day, number: int, first: date) -> dict[str, Any]:
    ref, street, north, east, priority, due = NEW[number]
    lat, lon = town.ORIGIN_LAT + north, town.ORIGIN_LON + east
    row = {
        **town.repair_rows(day.now)[0],
        "site": f"S-{number + 20}",
        "street": street,
        "run": f"P-{number + 200}",
        "upstream": f"B-{number + 1}1",
        "upstream_latitude": lat,
        "upstream_longitude": lon,
        "downstream": f"B-{number + 1}2",
        "downstream_latitude": lat + town.RUN_DEGREES / 5,
        "downstream_longitude": round(lon + town.RUN_DEGREES, 6),
        "datum": f"B-{number + 1}1",
        "repair": ref,
        "priority": priority,
    }
    return row if due is None else {**row, "due_on": str(first + timedelta(days=due - 1))}


def _say_when_crews_work(dora: Visitor, first: date) -> None:
    """Enter the yard and the hours; crew South may set up the next repair beside a cure."""
    where = {"latitude": town.ORIGIN_LAT, "longitude": town.ORIGIN_LON}
    dora.post("/yards", {"code": "HARBOUR", "name": "Harbour yard", **where})
    lunch: dict[str, Any] = {"lunch_from": "11:00", "lunch_until": "13:30", "lunch_min": 30}
    beside: dict[str, Any] = {"beside_cure": True, "beside_drive_min": 10, "beside_wait_min": 120}
    crews = {crew["code"]: crew["id"] for crew in dora.get("/crews")["results"]}
    for code, more in zip(CREWS, ({"lunch_in_cure": True}, beside), strict=True):
        told = {"yard": "HARBOUR", "most_overtime_min": 60, **lunch, **more}
        dora.patch(f"/crews/{crews[code]}/planning", told)
        dora.post(f"/crews/{crews[code]}/kits", {"lot": GOOD_LOT, "quantity": KITS})
        for on in (first + timedelta(days=n) for n in range(DAYS)):
            hours = {"on": on.isoformat(), "begins": "07:00", "ends": "16:00"}
            dora.post(f"/crews/{crews[code]}/hours", hours)
    for name in ("Sven South", "Sara South"):  # one stays with a live packer, two set up
        dora.post(f"/crews/{crews[CREWS[1]]}/members", {"name": f"{name} (invented)"})
    south = f"/crews/{crews[CREWS[1]]}/equipment"
    gear_of_two: list[dict[str, Any]] = [packer(f"PK-{CREWS[1]}-2")]
    gear_of_two += [{"kind": "gauge", "serial": f"G-{number}"} for number in (1, 2)]
    for gear in gear_of_two:
        dora.post(south, {**gear, "test_due_on": (first + timedelta(days=89)).isoformat()})
