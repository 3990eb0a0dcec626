"""Acts of the office: contract, orders, crews, prescriptions, the plan of the day."""

from datetime import date, datetime, timedelta
from typing import Any

from config.demo import contract, town
from config.demo.day import CREWS, EXPIRED_LOT, GOOD_LOT, Day, spans
from config.demo.visitor import ProblemError, Visitor


def come_in(day: Day) -> None:
    """Sign everybody in and give the crews' phones their tokens."""
    day.account.act("1. Everybody comes in by the front door")
    for name in ("dora", "rita", "clara", "otto"):
        day.visitors[name] = Visitor(day.base_url, name).sign_in(day.passwords[name])
    for name in ("nora", "sam"):
        token = day.visitor("dora").post(
            "/device-tokens", {"username": name, "label": f"phone of {name}", "days": 30}
        )["token"]
        day.visitors[name] = Visitor(day.base_url, name).show_token(token)
    day.account.say("dispatcher, reviewer and two clients signed in; two crew phones have tokens")


def enter_contract(day: Day) -> None:
    """Enter contract, resin, charts and kit."""
    day.account.act("2. The dispatcher enters contract, resin, charts and kit")
    dora = day.visitor("dora")
    made = dora.post("/requirement-sets", contract.REQUIREMENT_SET)
    dora.post("/resin-systems", contract.RESIN_SYSTEM)
    for chart in contract.CHARTS:
        dora.post("/charts", chart)
    dora.post("/kit-types", contract.KIT_TYPE)
    day.repairs["set"] = made
    count = len(contract.REQUIREMENTS)
    day.account.say(f"{made['name']}, version {made['version']}: {count} requirements to close")


def take_orders(day: Day) -> None:
    """Send the client's order files."""
    day.account.act("3. The client's orders come by file")
    dora = day.visitor("dora")
    rows = town.repair_rows(day.now)
    files = {
        "orders.geojson": town.as_geojson(rows[:3]),
        "orders.csv": town.as_csv(town.with_a_bad_one(rows[3:])),
        "orders-again.csv": town.as_csv(rows[3:4]),
    }
    for name, text in files.items():
        path = day.folder / "orders" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        answer = dora.hand_in(
            "/order-files", path, customer="TOWN", requirement_set=day.repairs["set"]["id"]
        )
        day.account.say(
            f"{name}: {answer['stored']} stored, {answer['already_there']} already there, "
            f"{answer['not_understood']} not understood"
        )
        for row in answer["rows"]:
            for fault in row["faults"]:
                day.account.say(
                    f"  row {row['row']}, {fault['field']}: found {fault['found']}, "
                    f"expected {fault['expected']}"
                )
    del day.repairs["set"]
    for repair in dora.get("/repairs")["results"]:
        day.repairs[repair["ref"]] = repair


def set_up_crews(day: Day) -> None:
    """Enter crews, people, gear and kits."""
    day.account.act("4. Two crews with people, gear and kits")
    dora = day.visitor("dora")
    today = day.now.date()
    kit = contract.KIT_TYPE["code"]
    for number, days in ((GOOD_LOT, 200), (EXPIRED_LOT, -9)):
        dora.post(
            "/lots",
            {
                "number": number,
                "kit_type": kit,
                "resin_lot_a": f"{number}-A",
                "resin_lot_b": f"{number}-B",
                "expires_on": (today + timedelta(days=days)).isoformat(),
            },
        )
    for code, lead, lasts in zip(CREWS, ("nora", "sam"), (300, 300), strict=True):
        crew = dora.post(
            "/crews",
            {"code": code, "name": f"Crew {code.title()}", "time_zone": town.zone_of(day.now)},
        )
        member = dora.post(
            f"/crews/{crew['id']}/members",
            {"name": f"{lead.title()} {code.title()}", "lead": True, "account": lead},
        )
        for kind in contract.QUALIFICATIONS:
            dora.post(
                f"/crew-members/{member['id']}/qualifications",
                {"kind": kind, "expires_on": (today + timedelta(days=lasts)).isoformat()},
            )
        _load_truck(dora, crew["id"], code, today)
    _third_crew(day, today)
    day.account.say("crews North and South ready; crew Spare has an expired certificate")


def packer(serial: str) -> dict[str, Any]:
    """Return a packer for small pipes, without its test date."""
    return {
        "kind": "packer",
        "serial": serial,
        "diameter_min": {"value": 6, "unit": "in"},
        "diameter_max": {"value": 10, "unit": "in"},
        "length": {"value": 1.8, "unit": "m"},
        "limit": {"value": 10, "unit": "psi"},
    }


def _load_truck(dora: Visitor, crew_id: str, code: str, today: date) -> None:
    dora.post(
        f"/crews/{crew_id}/equipment",
        {**packer(f"PK-{code}"), "test_due_on": (today + timedelta(days=90)).isoformat()},
    )
    for lot, quantity in ((GOOD_LOT, 4), (EXPIRED_LOT, 1)):
        dora.post(f"/crews/{crew_id}/kits", {"lot": lot, "quantity": quantity})


def _third_crew(day: Day, today: date) -> None:
    dora = day.visitor("dora")
    crew = dora.post(
        "/crews", {"code": "SPARE", "name": "Crew Spare", "time_zone": town.zone_of(day.now)}
    )
    member = dora.post(f"/crews/{crew['id']}/members", {"name": "Sidney Spare", "lead": True})
    for kind, days in (("resin handling", -3), ("filming certificate", 90)):
        dora.post(
            f"/crew-members/{member['id']}/qualifications",
            {"kind": kind, "expires_on": (today + timedelta(days=days)).isoformat()},
        )
    dora.post(
        f"/crews/{crew['id']}/equipment",
        {
            "kind": "packer",
            "serial": "PK-SPARE",
            "diameter_min": {"value": 300, "unit": "mm"},
            "diameter_max": {"value": 500, "unit": "mm"},
            "test_due_on": (today + timedelta(days=90)).isoformat(),
        },
    )
    dora.post(f"/crews/{crew['id']}/kits", {"lot": EXPIRED_LOT, "quantity": 2})


def prescribe(day: Day) -> None:
    """Have each repair judged and prescribed."""
    day.account.act("5. Fitness and prescription for each repair")
    for ref, repair in sorted(day.repairs.items()):
        made = day.visitor("dora").post(
            f"/repairs/{repair['id']}/prescriptions",
            {
                "wall_temperature": {"value": 22, "unit": "degC"},
                "resin_temperature": {"value": 70, "unit": "degF"},
            },
        )
        result = made["result"]
        day.masses[ref] = (result["resin"]["part_a_kg"], result["resin"]["part_b_kg"])
        shown = result["shown"]
        day.account.say(
            f"{ref} {repair['defect_code']}: {made['fitness']}; "
            f"{result['sleeve_count']} x {result['sleeve_length_m']:g} m, "
            f"A {day.masses[ref][0]:.2f} kg + B {day.masses[ref][1]:.2f} kg, "
            f"{shown['inflate_to']['us']['value']:.1f} psi "
            f"(keep {shown['keep_above']['us']['value']:.1f} to "
            f"{shown['keep_below']['us']['value']:.1f}), "
            f"work {result['working_min']:.0f} min, cure {result['cure_min']:.0f} min"
        )


def assign(day: Day) -> None:
    """Give each repair to a crew, and try one that clashes."""
    day.account.act("6. The dispatcher plans the day")
    dora = day.visitor("dora")
    for ref, crew, start, end in spans(day):
        dora.post(
            "/assignments",
            {
                "repair": day.repairs[ref]["id"],
                "crew": crew,
                "starts_at": start.isoformat(),
                "ends_at": end.isoformat(),
            },
        )
        day.account.say(f"{ref} -> crew {crew.title()}, {day.hour(start)} to {day.hour(end)}")
    _try_clash(day)


def _try_clash(day: Day) -> None:
    dora = day.visitor("dora")
    planned = dora.get("/assignments")["results"][0]
    dora.post(f"/assignments/{planned['id']}/cancel", {"reason": "to try other crews"})
    starts_at = datetime.fromisoformat(planned["starts_at"])
    body = {"repair": planned["repair_id"], "starts_at": planned["starts_at"]}
    for crew, minutes in (("SPARE", 90), ("SOUTH", 200)):
        day.account.say(f"{planned['repair']} is tried with crew {crew.title()}:")
        ends_at = (starts_at + timedelta(minutes=minutes)).isoformat()
        try:
            dora.post("/assignments", {**body, "crew": crew, "ends_at": ends_at})
        except ProblemError as error:
            day.account.refused(error)
    dora.post("/assignments", {**body, "crew": planned["crew"], "ends_at": planned["ends_at"]})
