"""The invented working day, told through the HTTP API: office, two crews, the client."""

import random
import time
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from config.demo import contract, town
from config.demo.account import Account
from config.demo.cast import CUSTOMERS
from config.demo.field_work import Notebook, Plan, new_film, work
from config.demo.visitor import ProblemError, Visitor

ACTS = 10
PATIENCE_S = 25.0
CREWS = ("NORTH", "SOUTH")
BATCH = "application/cloudevents-batch+json"
EXPIRED_LOT = "LOT-OLD"
GOOD_LOT = "LOT-A1"


@dataclass
class Day:
    """Everybody who acts, and what they have made so far."""

    base_url: str
    passwords: dict[str, str]
    folder: Path
    account: Account
    now: datetime
    on_posting: Callable[[], None] = lambda: None
    visitors: dict[str, Visitor] = field(default_factory=dict)
    repairs: dict[str, dict[str, Any]] = field(default_factory=dict)
    masses: dict[str, tuple[float, float]] = field(default_factory=dict)
    books: dict[str, Notebook] = field(default_factory=dict)
    packages: dict[str, Path] = field(default_factory=dict)

    @property
    def zone(self) -> ZoneInfo:
        """The invented town's time zone."""
        return ZoneInfo(town.zone_of(self.now))

    def hour(self, at: datetime | str | None) -> str:
        """Return an instant as the town's clocks show it."""
        if at is None:
            return "not known"
        moment = datetime.fromisoformat(at) if isinstance(at, str) else at
        return f"{moment.astimezone(self.zone):%H:%M}"

    def visitor(self, name: str) -> Visitor:
        """Return a user who has come in already."""
        return self.visitors[name]


def play(day: Day) -> None:
    """Play all acts in order."""
    with day.account.bar:
        for act in (
            _come_in,
            _enter_contract,
            _take_orders,
            _set_up_crews,
            _prescribe,
            _assign,
            _work_in_the_street,
            _post_from_the_street,
            _review,
            _hand_over,
        ):
            act(day)


def _come_in(day: Day) -> None:
    day.account.act("1. Everybody comes in by the front door")
    for name in ("dora", "rita", "clara", "otto"):
        day.visitors[name] = Visitor(day.base_url, name).sign_in(day.passwords[name])
    for name in ("nora", "sam"):
        token = day.visitor("dora").post(
            "/device-tokens", {"username": name, "label": f"phone of {name}", "days": 30}
        )["token"]
        day.visitors[name] = Visitor(day.base_url, name).show_token(token)
    day.account.say("dispatcher, reviewer and two clients signed in; two crew phones have tokens")


def _enter_contract(day: Day) -> None:
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


def _take_orders(day: Day) -> None:
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


def _set_up_crews(day: Day) -> None:
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


def _load_truck(dora: Visitor, crew_id: str, code: str, today: Any) -> None:
    dora.post(
        f"/crews/{crew_id}/equipment",
        {
            "kind": "packer",
            "serial": f"PK-{code}",
            "diameter_min": {"value": 6, "unit": "in"},
            "diameter_max": {"value": 10, "unit": "in"},
            "length": {"value": 1.8, "unit": "m"},
            "limit": {"value": 10, "unit": "psi"},
            "test_due_on": (today + timedelta(days=90)).isoformat(),
        },
    )
    for lot, quantity in ((GOOD_LOT, 4), (EXPIRED_LOT, 1)):
        dora.post(f"/crews/{crew_id}/kits", {"lot": lot, "quantity": quantity})


def _third_crew(day: Day, today: Any) -> None:
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


def _prescribe(day: Day) -> None:
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


def _spans(day: Day) -> Iterator[tuple[str, str, datetime, datetime]]:
    """Return who does what when: three repairs a crew, the last one still under pressure."""
    for crew, ref, minutes_ago in (
        ("NORTH", "R-1", 700),
        ("SOUTH", "R-3", 560),
        ("NORTH", "R-2", 470),
        ("SOUTH", "R-4", 330),
        ("NORTH", "R-5", 240),
        ("SOUTH", "R-6", 92),
    ):
        start = day.now - timedelta(minutes=minutes_ago)
        yield ref, crew, start, start + timedelta(minutes=226)


def _assign(day: Day) -> None:
    day.account.act("6. The dispatcher plans the day")
    dora = day.visitor("dora")
    for ref, crew, start, end in _spans(day):
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
    day.account.say("One assignment to crew Spare is tried, with everything wrong about it:")
    _try_clash(day)


def _try_clash(day: Day) -> None:
    dora = day.visitor("dora")
    answer = dora.get("/assignments")["results"][0]
    dora.post(f"/assignments/{answer['id']}/cancel", {"reason": "only to try crew Spare"})
    body = {
        "repair": answer["repair_id"],
        "crew": "SPARE",
        "starts_at": answer["starts_at"],
        "ends_at": (
            datetime.fromisoformat(answer["starts_at"]) + timedelta(minutes=90)
        ).isoformat(),
    }
    try:
        dora.post("/assignments", body)
    except ProblemError as error:
        day.account.refused(error)
    dora.post("/assignments", {**body, "crew": answer["crew"], "ends_at": answer["ends_at"]})


def _work_in_the_street(day: Day) -> None:
    day.account.act("7. The crews work; their phones and cameras write everything down")
    special: dict[str, dict[str, Any]] = {
        "R-2": {"dip": True},
        "R-3": {"film_after_min": -35},
        "R-4": {"lot": EXPIRED_LOT, "resin_lots": (f"{EXPIRED_LOT}-A", f"{EXPIRED_LOT}-B")},
        "R-6": {"live": True},
    }
    for number, (ref, crew, start, _) in enumerate(_spans(day)):
        given: dict[str, Any] = {
            "lot": GOOD_LOT,
            "resin_lots": (f"{GOOD_LOT}-A", f"{GOOD_LOT}-B"),
            **special.get(ref, {}),
        }
        plan = Plan(
            repair=day.repairs[ref],
            crew=crew.lower(),
            packer=f"PK-{crew}",
            masses_kg=day.masses[ref],
            starts_at=start.astimezone(day.zone),
            seed=number + 1,
            **given,
        )
        day.books[ref] = work(plan, day.folder / "street" / ref)
    events = sum(len(book.events) for book in day.books.values())
    files = sum(len(book.files) for book in day.books.values())
    day.account.say(f"{events} events and {files} files, all invented, none sent yet")
    day.account.say("R-2 loses pressure, R-3 is filmed too early, R-4 gets an expired kit,")
    day.account.say("R-5's phone has no signal until evening, R-6 is still under pressure")


def _post_from_the_street(day: Day) -> None:
    day.account.act("8. The phones send")
    for ref in ("R-1", "R-3", "R-2", "R-4", "R-6"):
        book = day.books[ref]
        phone = day.visitor("nora" if book.plan.crew == "north" else "sam")
        for event in book.events:
            phone.post("/field-events", event, media_type="application/cloudevents+json")
        for path, fields in book.files:
            phone.hand_in("/evidence", path, **fields)
        day.on_posting()
        day.account.say(f"{ref}: {len(book.events)} events one by one, {len(book.files)} files")
    _send_late(day)
    clock = day.visitor("sam").get(f"/repairs/{day.repairs['R-6']['id']}/clock")["cure"]
    day.account.say(
        f"R-6 is live: {clock['percent']:.0f} % cured, best {day.hour(clock['best'])}, "
        f"hold until {day.hour(clock['hold_until'])}; no task needed to know that"
    )


def _send_late(day: Day) -> None:
    book = day.books["R-5"]
    shuffled = book.events + book.events[:7]
    random.Random(5).shuffle(shuffled)
    phone = day.visitor("nora")
    phone.http.headers["Device-Time"] = datetime.now(UTC).isoformat()
    answers = phone.post("/field-events", shuffled, media_type=BATCH)
    del phone.http.headers["Device-Time"]
    for path, fields in reversed(book.files):
        phone.hand_in("/evidence", path, **fields)
    told = [answer["status"] for answer in answers]
    day.account.say(
        f"R-5: one batch from the phone without signal, shuffled: {told.count('stored')} stored, "
        f"{told.count('already there')} already there"
    )


def _review(day: Day) -> None:
    day.account.act("9. The reviewer closes what is proved")
    wait_for(day, lambda: _all_read(day), "every file to be read")
    for ref in ("R-1", "R-5", "R-2", "R-3", "R-4"):
        _try_to_close(day, ref)
    day.account.say("R-3 is filmed again by its crew:")
    book = day.books["R-3"]
    new_film(book, datetime.now(book.plan.starts_at.tzinfo) - timedelta(minutes=5))
    sam = day.visitor("sam")
    sam.post("/field-events", book.events[-1], media_type="application/cloudevents+json")
    path, fields = book.files[-1]
    sam.hand_in("/evidence", path, **fields)
    wait_for(day, lambda: _all_read(day), "the new film to be read")
    _try_to_close(day, "R-3")
    day.account.say("R-2's dip is waived by the town's engineer, by name, role and reason:")
    rita = day.visitor("rita")
    rita.post(
        f"/repairs/{day.repairs['R-2']['id']}/waivers",
        {
            "requirement": "cure_pressure_held",
            "name": "Emil Engineer (invented)",
            "role": "town engineer",
            "reason": "Pressure was back after 5 min, the sleeve lies close on the film.",
        },
    )
    _try_to_close(day, "R-2")


def _try_to_close(day: Day, ref: str) -> None:
    rita = day.visitor("rita")
    repair_id = day.repairs[ref]["id"]
    try:
        rita.post(f"/repairs/{repair_id}/close")
    except ProblemError as error:
        day.account.say(f"{ref}:")
        day.account.refused(error)
    else:
        day.account.say(f"{ref}: [green]closed[/green], its package is being built")


def _hand_over(day: Day) -> None:
    day.account.act("10. The client checks, accepts, returns")
    clara = day.visitor("clara")
    wait_for(
        day,
        lambda: all(each["ready_at"] for each in clara.get("/packages")["results"]),
        "the packages to be built",
    )
    for package in clara.get("/packages")["results"]:
        target = day.folder / "packages" / package["file_name"]
        clara.fetch(f"/packages/{package['id']}/file", target)
        _unpack_report(target)
        day.packages[package["repair"]] = target
        day.account.say(f"{package['repair']}: {target}")
    answers = {
        "R-1": ("accepted", []),
        "R-2": (
            "returned",
            [{"requirement": "cure_pressure_held", "note": "Show the sleeve's lower end closer."}],
        ),
    }
    for package in clara.get("/packages")["results"]:
        answer, reasons = answers.get(package["repair"], ("", []))
        if answer:
            clara.post(f"/packages/{package['id']}/answer", {"answer": answer, "reasons": reasons})
            repair = clara.get(f"/repairs/{package['repair_id']}")
            day.account.say(
                f"{package['repair']} {answer}; its stage is now {repair['stage']!r}, "
                f"attempt {repair['attempt']}"
            )
    try:
        day.visitor("otto").get(f"/repairs/{day.repairs['R-1']['id']}")
    except ProblemError as error:
        other = CUSTOMERS["OTHERTOWN"]
        day.account.say(f"{other} asks for R-1 and gets {error.body['status']}: not theirs to see")


def wait_for(day: Day, done: Callable[[], bool], what: str) -> None:
    """Wait for the worker; TimeoutError when it takes too long."""
    del day
    deadline = time.monotonic() + PATIENCE_S
    while not done():
        if time.monotonic() > deadline:
            raise TimeoutError(f"waited {PATIENCE_S:.0f} s for {what}")
        time.sleep(0.2)


def _all_read(day: Day) -> bool:
    dora = day.visitor("dora")
    return all(
        row["read_at"]
        for repair in day.repairs.values()
        for row in dora.get("/evidence", repair=repair["id"])
    )


def _unpack_report(package: Path) -> None:
    with zipfile.ZipFile(package) as zipped:
        for name in zipped.namelist():
            if name.endswith("report.pdf"):
                package.with_suffix(".pdf").write_bytes(zipped.read(name))
