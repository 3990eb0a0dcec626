"""Act of the gauge: a crew lead does not answer, so the dispatcher is told, and answers."""

from datetime import datetime
from typing import Any

from config.demo.day import Day, wait_for

CODE = "pressure_outside_window"
EVENT = "application/cloudevents+json"


def tell_somebody(day: Day) -> None:
    """Let R-6 lose pressure while nobody looks, and the office find out in time."""
    day.account.act("9. Somebody is told, and somebody answers")
    _read_gauge(day, psi=1.5)
    wait_for(lambda: bool(_told(day)), "the crew lead to be told")
    day.account.say(f"R-6's gauge reads 1.5 psi. Sam is told: {_told(day)[0]['words']}")
    wait_for(lambda: "dispatcher" in _rungs(day), "the dispatcher to be told")
    day.account.say("Sam does not answer; after the contract's wait the dispatcher is told")
    notice = day.visitor("dora").post(f"/notices/{_told(day)[0]['id']}/acknowledge")
    day.account.say(f"{notice['acknowledged_by']} has it; nobody on call is woken")
    _read_gauge(day, psi=4.8)
    wait_for(lambda: _told(day)[0]["settled_at"] is not None, "the notice to be settled")
    day.account.say("the gauge reads 4.8 psi again: the notice is settled by the facts")


def _read_gauge(day: Day, *, psi: float) -> None:
    book = day.books["R-6"]
    at = datetime.now(book.plan.starts_at.tzinfo)
    book.note("pressure_read", at, pressure={"value": psi, "unit": "psi"})
    day.visitor("sam").post("/field-events", book.events[-1], media_type=EVENT)


def _told(day: Day) -> list[dict[str, Any]]:
    rows = day.visitor("dora").get("/notices")["results"]
    return [row for row in rows if row["code"] == CODE]


def _rungs(day: Day) -> set[str]:
    return {call["to"] for row in _told(day) for call in row["told"]}
