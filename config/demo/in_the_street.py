"""Acts of the street: two crews work, and their phones send when they can."""

import random
from typing import Any

from config.demo.day import EXPIRED_LOT, GOOD_LOT, Day, spans
from config.demo.field_work import Plan, work

BATCH = "application/cloudevents-batch+json"


def work_in_the_street(day: Day) -> None:
    """Do all the work on paper: events and files, none sent yet."""
    day.account.act("7. The crews work; their phones and cameras write everything down")
    special: dict[str, dict[str, Any]] = {
        "R-2": {"dip": True},
        "R-3": {"film_after_min": -35},
        "R-4": {"lot": EXPIRED_LOT, "resin_lots": (f"{EXPIRED_LOT}-A", f"{EXPIRED_LOT}-B")},
        "R-6": {"live": True},
    }
    for number, (ref, crew, start, _) in enumerate(spans(day)):
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


def post_from_the_street(day: Day) -> None:
    """Send everything the phones have written down."""
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
    answers = phone.post("/field-events", shuffled, media_type=BATCH)
    for path, fields in reversed(book.files):
        phone.hand_in("/evidence", path, **fields)
    told = [answer["status"] for answer in answers]
    day.account.say(
        f"R-5: one batch from the phone without signal, shuffled: {told.count('stored')} stored, "
        f"{told.count('already there')} already there"
    )
