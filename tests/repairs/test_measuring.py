"""A wrong zero, a wrong access point, a wrong end: one report puts all distances right."""

import random
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.field_event import Event, EventKind
from repairs.domain.measuring import AS_REPORTED, as_corrected, own_datum
from repairs.domain.progress import fold

SEVEN = datetime(2026, 11, 25, 7, tzinfo=UTC)


def _event(minute: float, kind: EventKind, data: dict[str, Any], **more: Any) -> Event:
    at = SEVEN + timedelta(minutes=minute)
    return Event(uuid4(), kind, "phone", at, at + timedelta(hours=1), data=data, **more)


def _marked(minute: float = 0, **data: Any) -> Event:
    told = {"datum": "AP-1", "counter_m": 14.5, "tape_m": 14.2, **data}
    return _event(minute, EventKind.DISTANCE_MARKED, told)


def _placed(minute: float = 30, **data: Any) -> Event:
    return _event(minute, EventKind.PLACED, {"datum": "AP-1", "distance_m": 14.5, **data})


def _right(minute: float = 60, **data: Any) -> Event:
    told = {"reason": "an invented slip", **data}
    corrects = told.pop("corrects", None)
    return _event(minute, EventKind.MEASURING_CORRECTED, told, corrects=corrects)


def _read(*events: Event) -> dict[EventKind, Any]:
    return {kind: event.data for kind, event in fold(events, attempt=1).latest.items()}


def test_a_wrong_zero_is_taken_off_every_distance() -> None:
    """The counter stood at 0.30 m at the edge: 14.5 was 14.2, and so was the placing."""
    read = _read(_marked(tape_m=14.5), _placed(), _right(too_long_by_m=0.3))

    assert read[EventKind.DISTANCE_MARKED]["counter_m"] == pytest.approx(14.2)
    assert read[EventKind.DISTANCE_MARKED]["tape_m"] == pytest.approx(14.2)
    assert read[EventKind.PLACED]["distance_m"] == pytest.approx(14.2)
    assert read[EventKind.PLACED][AS_REPORTED]["distance_m"] == 14.5


def test_a_wrong_zero_of_the_counter_leaves_the_tape() -> None:
    """Named, it touches what it names."""
    read = _read(_marked(), _placed(), _right(too_short_by_m=0.1, of="counter"))

    assert read[EventKind.DISTANCE_MARKED]["counter_m"] == pytest.approx(14.6)
    assert read[EventKind.DISTANCE_MARKED]["tape_m"] == 14.2
    assert read[EventKind.PLACED]["distance_m"] == 14.5


def test_a_wrong_access_point_is_named_anew() -> None:
    """Measured from AP-2, written down as AP-1."""
    read = _read(_marked(), _placed(), _right(datum="AP-2"))

    assert {read[EventKind.DISTANCE_MARKED]["datum"], read[EventKind.PLACED]["datum"]} == {"AP-2"}


def test_a_wrong_end_turns_the_run_round() -> None:
    """Of d is made L - d: whose datum it is changes, and changes back when said twice."""
    once = _read(_marked(), _right(from_other_end=True))[EventKind.DISTANCE_MARKED]
    twice = _read(_marked(), _right(60, from_other_end=True), _right(70, from_other_end=True))

    assert own_datum(once, "AP-1", "AP-2") is False
    assert own_datum(twice[EventKind.DISTANCE_MARKED], "AP-1", "AP-2") is True
    assert own_datum({"datum": "AP-9"}, "AP-1", "AP-2") is None


def test_what_is_measured_after_it_is_not_touched() -> None:
    """A mark set anew with the right zero stands as it is."""
    read = _read(_marked(0), _right(10, too_long_by_m=0.3), _marked(20, counter_m=14.2))

    assert read[EventKind.DISTANCE_MARKED]["counter_m"] == 14.2
    assert AS_REPORTED not in read[EventKind.DISTANCE_MARKED]


def test_one_report_may_be_named() -> None:
    """With `corrects` only that one; the other stays."""
    marked, placed = _marked(), _placed()
    read = _read(marked, placed, _right(too_long_by_m=0.3, corrects=placed.id))

    assert read[EventKind.DISTANCE_MARKED]["counter_m"] == 14.5
    assert read[EventKind.PLACED]["distance_m"] == pytest.approx(14.2)


def test_a_correction_taken_back_changes_nothing() -> None:
    """Both stay on record; the distances are as they came."""
    wrong = _right(too_long_by_m=0.3)
    back = _event(70, EventKind.MEASURING_CORRECTED, {"taken_back": True}, corrects=wrong.id)

    assert _read(_marked(), wrong, back)[EventKind.DISTANCE_MARKED]["counter_m"] == 14.5


@given(
    st.lists(st.sampled_from(["mark", "place", "long", "short", "end", "datum"]), max_size=8),
    st.randoms(use_true_random=False),
)
def test_any_order_of_arrival_and_reading_twice_give_one_answer(
    kinds: list[str], chance: random.Random
) -> None:
    """The fold sorts by time; correcting what is corrected changes nothing more."""
    make = {
        "mark": _marked,
        "place": _placed,
        "long": lambda m: _right(m, too_long_by_m=0.3),
        "short": lambda m: _right(m, too_short_by_m=0.2, of="counter"),
        "end": lambda m: _right(m, from_other_end=True),
        "datum": lambda m: _right(m, datum="AP-2"),
    }
    events = [make[kind](10.0 * n) for n, kind in enumerate(kinds)]
    steps = fold(events, attempt=1).steps

    assert fold(chance.sample(events, len(events)), attempt=1).steps == steps
    assert as_corrected(steps) == steps
