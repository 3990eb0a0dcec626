"""One CloudEvents event as a device sends it: understood, or each fault named."""

import json
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.domain.incoming_event import MAX_DEVICE_NAME, IncomingEvent, body_digest, read_event
from repairs.domain.storable import DEEPEST, unstorable

GOOD: dict[str, Any] = {
    "specversion": "1.0",
    "id": "018f2d6e-7c1a-7b60-9a53-2f1a4f6f9f10",
    "source": "invented phone",
    "type": "curewright.field.arrived",
    "subject": "5d3c4f6e-0a57-4d8c-9a53-2f1a4f6f9f10",
    "time": "2026-11-25T09:30:00-05:00",
}


def nested(levels: int) -> Any:
    """Return a list in a list in a list."""
    inner: Any = []
    for _ in range(levels - 1):
        inner = [inner]
    return inner


def fields_at_fault(sent: Any) -> list[str]:
    """Return which fields are told as wrong."""
    found = read_event(sent)
    assert isinstance(found, tuple), found
    return [fault.field for fault in found]


def test_a_good_event_is_understood() -> None:
    """Ids, kind and the instant in UTC come out; what was not said is None."""
    found = read_event(GOOD)

    assert isinstance(found, IncomingEvent)
    assert found.id == UUID(GOOD["id"])
    assert found.repair_id == UUID(GOOD["subject"])
    assert found.kind is EventKind.ARRIVED
    assert found.device_time == datetime(2026, 11, 25, 14, 30, tzinfo=UTC)
    assert (found.sequence, found.corrects, found.attempt, found.data) == (None, None, None, {})


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("specversion", "0.3"),
        ("specversion", 1.0),
        ("id", None),
        ("id", "seven"),
        ("id", 7),
        ("subject", ""),
        ("source", ""),
        ("source", "x" * (MAX_DEVICE_NAME + 1)),
        ("source", None),
        ("type", "arrived"),  # without the prefix
        ("type", "curewright.field.lunch"),
        ("type", "curewright.field.closed"),  # the office's to say
        ("time", "2026-11-25T09:30:00"),  # no offset: nobody knows when that was
        ("time", "yesterday"),
        ("time", None),
        ("time", 1764066600),
        ("time", "1969-12-31T23:59:59Z"),  # a second before any device's clock begins
        ("time", "2101-01-01T00:00:00Z"),
        ("time", "0001-01-01T00:00:00+23:59"),  # lies before the calendar begins
        ("corrects", "seven"),
        ("corrects", GOOD["id"]),  # an event cannot correct itself
        ("sequence", -1),
        ("sequence", 2**63),  # one more than a record holds
        ("sequence", 1.5),
        ("sequence", True),
        ("sequence", "²"),  # a digit, but no number
        ("attempt", 0),
        ("attempt", 1001),
        ("data", []),
        ("data", "words"),
    ],
)
def test_each_wrong_field_is_named(name: str, value: Any) -> None:
    """One wrong value is one fault, of that field."""
    assert fields_at_fault({**GOOD, name: value}) == [name]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("source", "x" * MAX_DEVICE_NAME),
        ("time", "1970-01-01T00:00:00Z"),  # a phone that lost its time
        ("time", "2026-11-25T09:30:00.123456+05:45"),
        ("sequence", 0),
        ("sequence", "12"),  # CloudEvents lets a whole number come as text
        ("sequence", 2**63 - 1),
        ("attempt", 1),
        ("attempt", 1000),
        ("data", None),
        ("data", {"deep": nested(DEEPEST - 1)}),
    ],
)
def test_the_last_step_inside_each_limit_is_understood(name: str, value: Any) -> None:
    """What is just allowed is taken."""
    assert isinstance(read_event({**GOOD, name: value}), IncomingEvent)


@pytest.mark.parametrize(
    ("value", "what"),
    [
        ("one\x00two", "NUL"),  # PostgreSQL cannot hold it
        ("half \ud83d of it", "surrogate"),  # no text in UTF-8
        (float("inf"), "not finite"),  # 1e400 in JSON becomes this
        (float("nan"), "not finite"),
        (2**63, "18 digits"),
        (nested(DEEPEST), "nesting"),  # one level too many, with the one of `data`
        ({"a": [{"b": "\x00"}]}, "NUL"),  # however deep it lies
        ({"\x00": 1}, "NUL"),  # also in a name
    ],
)
def test_what_no_record_can_hold_is_told_and_never_stored(value: Any, what: str) -> None:
    """Text, numbers and nesting that a database refuses are named before it sees them."""
    found = read_event({**GOOD, "data": {"note": value}})

    assert isinstance(found, tuple)
    assert found[0].field == "data"
    assert what in found[0].found


@pytest.mark.parametrize("kind", sorted(OFFICE_KINDS))
def test_a_crew_cannot_say_what_the_office_decides(kind: EventKind) -> None:
    """Assigned, closed, accepted and returned never come from a device."""
    assert fields_at_fault({**GOOD, "type": f"curewright.field.{kind.value}"}) == ["type"]


def test_taking_back_names_what_it_takes_back() -> None:
    """An event that only takes another back says which one."""
    back = {**GOOD, "data": {"taken_back": True}}

    assert fields_at_fault(back) == ["corrects"]
    assert isinstance(read_event({**back, "corrects": GOOD["subject"]}), IncomingEvent)


def test_all_faults_come_at_once() -> None:
    """An empty object lists everything that is missing."""
    expected = ["specversion", "id", "subject", "type", "source", "time"]

    assert fields_at_fault({}) == expected


@pytest.mark.parametrize("sent", [None, 7, "event", [GOOD]])
def test_what_is_no_object_is_no_event(sent: Any) -> None:
    """Anything but an object is one fault."""
    assert fields_at_fault(sent) == ["event"]


def test_the_digest_knows_the_content_not_the_order_of_its_names() -> None:
    """The same content written in another order is the same event; any other is not."""
    turned = dict(reversed(list(GOOD.items())))

    assert body_digest(turned) == body_digest(GOOD)
    assert body_digest({**GOOD, "time": "2026-11-25T09:30:01-05:00"}) != body_digest(GOOD)


@given(st.text())
def test_a_repeat_read_from_json_again_has_the_same_digest(note: str) -> None:
    """Sent over the wire twice, an event is known again."""
    event = {**GOOD, "data": {"note": note}}

    assert body_digest(json.loads(json.dumps(event))) == body_digest(event)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from([*GOOD, "data", "sequence", "attempt"]), json_values))
def test_whatever_is_sent_is_answered(changed: dict[str, Any]) -> None:
    """No content makes reading fail: an event or its faults come out."""
    found = read_event({**GOOD, **changed})

    assert isinstance(found, IncomingEvent) or (found and all(fault.field for fault in found))
    if isinstance(found, IncomingEvent):
        assert unstorable(found.data) is None
