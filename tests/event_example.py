"""Field events of an invented repair, for the tests of what they add up to."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from hypothesis import strategies as st

from repairs.domain.field_event import Event, EventKind

NINE = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def an_event(kind: EventKind, minute: float = 0, *, number: int = 0, **more: Any) -> Event:
    """Return an event some minutes after nine; its id comes from kind, minute and number."""
    at = NINE + timedelta(minutes=minute)
    name = UUID(int=(list(EventKind).index(kind) << 64) + (number << 32) + int(minute * 60) + 2**31)
    received_at = at + timedelta(hours=12)
    given = {"device": "phone", "device_time": at, "received_at": received_at, **more}
    return Event(id=name, kind=kind, **given)


def events() -> st.SearchStrategy[list[Event]]:
    """Draw up to twelve events: any kinds, devices, clocks, attempts, corrections."""
    return st.lists(_drafts(), max_size=12).map(_numbered)


def _drafts() -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {
            "kind": st.sampled_from(EventKind),
            # Few minutes, so that events often fall on the same instant.
            "minute": st.integers(0, 4),
            "device": st.sampled_from(["phone", "tablet"]),
            "attempt": st.sampled_from([1, 1, 1, 2]),
            "offset_high_s": st.sampled_from([0.0, 30.0, 600.0]),
            # The receipt ends what can have happened; some come in at once, some late.
            "received_at": st.sampled_from([NINE, NINE + timedelta(hours=12)]),
            "sequence": st.none() | st.integers(0, 3),
            "corrects": st.none() | st.integers(0, 11),
            "data": st.sampled_from([{}, {"reason": "rain"}, {"taken_back": True}]),
        }
    )


def _numbered(drafts: list[dict[str, Any]]) -> list[Event]:
    found: list[Event] = []
    for number, draft in enumerate(drafts):
        rest = dict(draft)
        kind, minute, corrects = rest.pop("kind"), rest.pop("minute"), rest.pop("corrects")
        target = found[corrects].id if corrects is not None and corrects < number else None
        found.append(an_event(kind, minute, number=number, corrects=target, **rest))
    return found
