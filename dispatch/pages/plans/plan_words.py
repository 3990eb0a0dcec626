"""How a page says what a plan holds: days, reasons, prices, states."""

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from dispatch.domain.what_if import Supposition, WhatIf, words_of
from dispatch.models import Plan, PlanRun
from repairs.models import Repair

REASONS: Mapping[str, str] = {
    "pinned_elsewhere": "pinned to another crew or day",
    "locked_elsewhere": "promised to another crew-day",
    "qualification_missing": "nobody holds the certificate",
    "packer_does_not_fit": "no packer for the bore",
    "packer_too_short": "every packer too short",
    "packer_too_weak": "no packer for the pressure",
    "kit_missing": "kit not on the truck",
    "kits_used_up": "the truck's kits used up",
    "stock_used_up": "the crew's stock used up",
    "no_window_that_day": "no work allowed that day",
    "window_missed": "too late for the window",
    "window_too_short": "windows shorter than the job",
    "shift_too_short": "day too short for it",
    "no_lunch": "no room for lunch",
    "fits": "there is room",
    "dearer_than_leaving_it": "dearer than leaving it",
    "no_crew_day": "no crew goes out",
    "crew_day_gone": "its crew does not go out then",
    "route_no_longer_fits": "the old route takes too long now",
    "times_moved": "begins at another time now",
    "assigned_meanwhile": "decided by somebody meanwhile",
    "work_has_begun": "work has begun",
    "superseded": "another plan was published since",
    "double_booking": "the crew has other work then",
    "no_cure_time": "too cold for its cure chart",
    "no_prescription": "nothing is prescribed yet",
    "not_fit": "not fit for this kind of repair",
    "on_hold": "on hold",
    "planned_another_day": "with a crew on another day",
    "with_another_crew": "with a crew that no plan knows",
    "already_filmed": "filmed already",
    "already_closed": "closed already",
}
"""Each reason in a few words; another code is said as it is."""

PRICE_WORDS: Mapping[str, str] = {
    "pinned_s": "Leaving out a repair that is pinned",
    "a_s": "Leaving out priority A",
    "b_s": "Leaving out priority B",
    "c_s": "Leaving out priority C",
    "late_day_s": "Each day late",
    "change_s": "What was promised changed: another crew, or another day",
    "overtime_times": "An hour of overtime, in hours of driving",
}

STATE_MARKS: Mapping[str, str] = {
    Plan.DRAFT: "circle",
    Plan.PUBLISHED: "tick",
    Plan.SUPERSEDED: "back",
    PlanRun.WAITING: "dots",
    PlanRun.SEARCHING: "glass",
    PlanRun.DONE: "tick",
    PlanRun.CANCELLED: "pause",
    PlanRun.FAILED: "cross",
}
"""The shape beside the state of a plan or of its making."""

_MIN = 60
_HOUR = 60 * _MIN


def reason_words(code: str) -> str:
    """Return a reason in a few words."""
    return REASONS.get(code, code.replace("_", " "))


def day_words(on: date) -> str:
    """Return a date as a dispatcher says it: ``Mon 30 Nov``."""
    return f"{on:%a} {on.day} {on:%b}"


def days_words(starts_on: date, days: int) -> str:
    """Return the days of a plan: ``Mon 30 Nov``, ``Mon 30 Nov to Fri 4 Dec``.

    Days of another year than this one name the year.
    """
    last = date.fromordinal(starts_on.toordinal() + days - 1)
    this_year = timezone.now().year
    far = {starts_on.year, last.year} != {this_year}
    first_words, last_words = (
        f"{day_words(on)} {on.year}" if far else day_words(on) for on in (starts_on, last)
    )
    return first_words if days == 1 else f"{first_words} to {last_words}"


def clock_words(at: datetime, zone: str) -> str:
    """Return the time on the wall of a zone."""
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"


def long_words(seconds: int) -> str:
    """Return how long something takes, to the minute: ``35 min``, ``2 h 05 min``."""
    minutes = round(abs(seconds) / _MIN)
    hours, rest = divmod(minutes, _MIN)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def price_words(seconds: int) -> str:
    """Return a price as what it would be in driving."""
    if abs(seconds) < _HOUR:
        return f"{round(seconds / _MIN)} min of driving"
    return f"{seconds / _HOUR:,.1f} h of driving"


def supposed_words(each: WhatIf) -> str:
    """Return a supposition with the names and days that people use."""
    if each.kind is Supposition.URGENT:
        row = Repair.objects.filter(pk=UUID(each.repair)).first()
        return f"{row.ref if row else 'a repair that is gone'} is urgent"
    if each.kind is not Supposition.PRICE:
        words = words_of(each)
        return words.replace(each.on.isoformat(), day_words(each.on)) if each.on else words
    named = PRICE_WORDS.get(each.price, each.price)
    named = f"{named[0].lower()}{named[1:]}"
    if each.price == "overtime_times":
        return f"{named}: {each.value}"
    return f"{named} costs {price_words(each.value)}"
