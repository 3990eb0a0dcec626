"""Acts of the end: the reviewer closes what is proved, the client answers."""

import zipfile
from datetime import datetime, timedelta
from pathlib import Path

from config.demo.cast import CUSTOMERS
from config.demo.day import Day, wait_for
from config.demo.field_work import new_film
from config.demo.visitor import ProblemError


def review(day: Day) -> None:
    """Close what is proved, and see why the rest does not close."""
    day.account.act("10. The reviewer closes what is proved")
    wait_for(day.all_read, "every file to be read")
    for ref in ("R-1", "R-5", "R-2", "R-3", "R-4"):
        _try_to_close(day, ref)
    day.account.say("R-3 is filmed again by its crew:")
    book = day.books["R-3"]
    new_film(book, datetime.now(book.plan.starts_at.tzinfo) - timedelta(minutes=5))
    sam = day.visitor("sam")
    sam.post("/field-events", book.events[-1], media_type="application/cloudevents+json")
    path, fields = book.files[-1]
    sam.hand_in("/evidence", path, **fields)
    wait_for(day.all_read, "the new film to be read")
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


def hand_over(day: Day) -> None:
    """Fetch the packages as the client, accept one, return one."""
    day.account.act("11. The client checks, accepts, returns")
    clara = day.visitor("clara")
    wait_for(
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


def _unpack_report(package: Path) -> None:
    with zipfile.ZipFile(package) as zipped:
        for name in zipped.namelist():
            if name.endswith("report.pdf"):
                package.with_suffix(".pdf").write_bytes(zipped.read(name))
