"""Whether a plan keeps what a crew was told of a repair, and why not."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from dispatch.domain.plan_horizon import day_there
from dispatch.pages.plans.plan_words import clock_words, day_words, reason_words

KEPT, OTHER_TIME, BROKEN, NEW = "kept", "other hour", "changed", "new"
MARKS: Mapping[str, str] = {KEPT: "tick", OTHER_TIME: "glass", BROKEN: "back", NEW: "circle"}


@dataclass(frozen=True, slots=True)
class Promised:
    """What became of a promise; `was` and `why` are empty where nothing was another."""

    word: str
    mark: str
    was: str = ""
    why: str = ""


def promised(change: Mapping[str, Any] | None, *, told: bool, zone: str) -> Promised:
    """Return what became of the promise of one repair.

    Parameters
    ----------
    change : mapping or None
        The line of the plan's differences about it.
    told : bool
        Whether a crew was told of it before.
    """
    if change is None:
        return _said(KEPT if told else NEW)
    kind = change["kind"]
    if kind == "new":
        return _said(NEW)
    was = change.get("was")
    if kind == "other_time" and was:
        at = clock_words(datetime.fromisoformat(was["starts_at"]), zone)
        return Promised(OTHER_TIME, MARKS[OTHER_TIME], at, cause_words(change))
    return Promised(BROKEN, MARKS[BROKEN], where_words(was, zone), cause_words(change))


def where_words(stands: Mapping[str, Any] | None, zone: str) -> str:
    """Return a place in a plan: ``crew NORTH, Mon 30 Nov 07:14``."""
    if not stands:
        return "nowhere"
    crew = str(stands["crew_day"]).rpartition("/")[0]
    at = datetime.fromisoformat(stands["starts_at"])
    return f"crew {crew}, {day_words(day_there(at, zone))} {clock_words(at, zone)}"


def cause_words(change: Mapping[str, Any]) -> str:
    """Return why something is another than before: that it had to be, or what it saves."""
    cause = change.get("cause")
    if cause is None:
        return ""
    words = str(cause["words"])
    if change["kind"] == "other_time":
        return words
    if change["forced"]:
        return f"had to: {reason_words(cause['code'])} ({words})"
    return f"by choice: {words}"


def _said(word: str) -> Promised:
    return Promised(word, MARKS[word])
