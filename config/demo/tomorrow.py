"""The last act: new orders, and what the crews do tomorrow."""

from datetime import date, timedelta

from config.demo import town
from config.demo.day import CREWS, Day, wait_for
from config.demo.visitor import Visitor

NEW = (("R-7", 5.2, "A"), ("R-8", 31.5, "B"), ("R-9", 12.0, "C"))
SEARCH_S = 2


def plan_tomorrow(day: Day) -> None:
    """Order three more repairs, plan the day, and send the crews."""
    day.account.act("12. Tomorrow is planned")
    dora = day.visitor("dora")
    tomorrow = day.now.astimezone(day.zone).date() + timedelta(days=1)
    _order(day, dora)
    _say_when_crews_work(dora, tomorrow)
    run = dora.post("/plans", {"starts_on": tomorrow.isoformat(), "days": 1, "search_s": SEARCH_S})
    watched = f"/plan-runs/{run['id']}"
    wait_for(lambda: dora.get(watched)["state"] == "done", "the plan")
    plan = dora.get(f"/plans/{dora.get(watched)['plan']}")
    for stop in plan["stops"]:
        day.account.say(
            f"{stop['name']}: crew {stop['crew'].title()}, {day.hour(stop['starts_at'])} to "
            f"{day.hour(stop['ends_at'])}, may come {stop['slack_s'] // 60} min later"
        )
    for row in plan["refused"]:
        day.account.say(f"{row['name']} is not planned: {row['words']}")
    dora.post(f"/plans/{plan['id']}/publish")
    for truck in dora.get(f"/plans/{plan['id']}/load-out"):
        kits = ", ".join(f"{each['quantity']} of lot {each['lot']}" for each in truck["kits"])
        day.account.say(f"crew {truck['crew'].title()} loads {kits}")
    told = [row for row in dora.get("/notices")["results"] if row["code"] == "plan_changed"]
    day.account.say(f"published: {len(told)} crew(s) told, each what changed for it")


def _order(day: Day, dora: Visitor) -> None:
    rows = [
        {**row, "repair": ref, "distance_m": distance, "priority": priority}
        for row, (ref, distance, priority) in zip(town.repair_rows(day.now), NEW, strict=False)
    ]
    answer = dora.post("/work-orders", {"customer": "TOWN", "rows": rows})
    warm = {"value": 22, "unit": "degC"}
    for each in answer["rows"][:2]:
        body = {"wall_temperature": warm, "resin_temperature": warm}
        dora.post(f"/repairs/{each['repair_id']}/prescriptions", body)
    day.account.say("R-7 (priority A), R-8 and R-9 are ordered; R-9 has no prescription yet")


def _say_when_crews_work(dora: Visitor, on: date) -> None:
    where = {"latitude": town.ORIGIN_LAT - 0.02, "longitude": town.ORIGIN_LON}
    dora.post("/yards", {"code": "HARBOUR", "name": "Harbour yard", **where})
    for crew in dora.get("/crews")["results"]:
        if crew["code"] not in CREWS:
            continue
        lunch = {"lunch_from": "11:00", "lunch_until": "13:00", "lunch_min": 30}
        dora.patch(f"/crews/{crew['id']}/planning", {"yard": "HARBOUR", **lunch})
        hours = {"on": on.isoformat(), "begins": "07:00", "ends": "16:00"}
        dora.post(f"/crews/{crew['id']}/hours", hours)
