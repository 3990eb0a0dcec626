"""Which reminders a crew's truck and people ask for: what runs out, and when."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from dispatch.domain.reminder import Found, Row, Rung

KIT_LEAD = timedelta(days=14)
"""Long enough to use a kit up or to order another. Common practice, no source."""

TEST_LEAD = timedelta(days=14)
"""Long enough to send a packer or gauge to its test. Common practice, no source."""

QUALIFICATION_LEAD = timedelta(days=30)
"""Long enough to book a course. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RunsOut:
    """Something that may be used up to and including a day."""

    item: str
    name: str
    last_day: date


@dataclass(frozen=True, slots=True)
class TruckFacts:
    """What a crew has: kits on the truck, gear, and the newest certificate of each kind."""

    zone: str
    kits: tuple[RunsOut, ...]
    gear: tuple[RunsOut, ...]
    certificates: tuple[RunsOut, ...]


def _ends(each: RunsOut, zone: str, lead: timedelta) -> Found:
    """Return it due on a morning there, by the calendar: a day is not always 24 hours."""
    end = datetime.combine(each.last_day + timedelta(days=1), time(), ZoneInfo(zone))
    due = datetime.combine(each.last_day - lead, time(), ZoneInfo(zone))
    given = {"name": each.name, "day": f"{each.last_day:%d %b %Y}"}
    return Found(due, end, about=end, item=each.item, given=given)


def _kits(facts: TruckFacts, _now: datetime) -> Iterator[Found]:
    return (_ends(each, facts.zone, KIT_LEAD) for each in facts.kits)


def _gear(facts: TruckFacts, _now: datetime) -> Iterator[Found]:
    return (_ends(each, facts.zone, TEST_LEAD) for each in facts.gear)


def _certificates(facts: TruckFacts, _now: datetime) -> Iterator[Found]:
    return (_ends(each, facts.zone, QUALIFICATION_LEAD) for each in facts.certificates)


TABLE: tuple[Row[TruckFacts], ...] = (
    Row(
        code="kit_expires",
        condition="kits of a lot are on the truck and the lot expires",
        lead="14 days before its last day",
        useful="the end of its last day",
        to=Rung.DISPATCHER,
        live=False,
        find=_kits,
        words="{name} on the truck may be used until {day}. Plan it in before, or replace it.",
    ),
    Row(
        code="test_due",
        condition="the test of a packer, gauge, camera or gas meter runs out",
        lead="14 days before its last day",
        useful="the end of its last day",
        to=Rung.CREW_LEAD,
        live=False,
        find=_gear,
        words="The test of {name} is valid until {day}. Have it tested before; out of test it "
        "is not used.",
    ),
    Row(
        code="qualification_expires",
        condition="the newest certificate of a kind of a crew member runs out",
        lead="30 days before its last day",
        useful="the end of its last day",
        to=Rung.DISPATCHER,
        live=False,
        find=_certificates,
        words="{name} is valid until {day}. Book the renewal.",
    ),
)
