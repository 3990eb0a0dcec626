"""When an event happened, and which of a set of events count in which order."""

from datetime import timedelta
from itertools import pairwise
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.event_order import (
    Moment,
    in_order,
    is_from_the_future,
    moment_of,
    no_longer_counted,
    starts_after,
)
from repairs.domain.field_event import Event, EventKind
from tests.event_example import NINE, an_event, events

K = EventKind


def _moment(low_s: float, high_s: float) -> Moment:
    low, high = NINE + timedelta(seconds=low_s), NINE + timedelta(seconds=high_s)
    return Moment(low, low + (high - low) / 2, high)


def test_a_moment_is_the_device_time_moved_by_its_offset() -> None:
    """A phone 30 to 60 s slow reporting 9:00:00 means 9:00:30 to 9:01:00."""
    found = moment_of(an_event(K.ARRIVED, offset_low_s=30.0, offset_high_s=60.0))

    assert found == _moment(30, 60)


@pytest.mark.parametrize(
    ("received_s", "latest_s", "future"),
    [
        (61, 60, False),  # received after its latest instant: nothing is cut
        (59, 59, False),  # nothing can have happened after the server heard of it
        (30, 30, False),  # received in its earliest instant
        (29, 29, True),  # received before even that: the device's clock is ahead
    ],
)
def test_the_receipt_ends_what_can_have_happened(
    received_s: int, latest_s: int, future: bool
) -> None:
    """The interval ends at the receipt; an event wholly beyond it is from the future."""
    received = NINE + timedelta(seconds=received_s)
    event = an_event(K.ARRIVED, offset_low_s=30.0, offset_high_s=60.0, received_at=received)

    assert moment_of(event).latest == NINE + timedelta(seconds=latest_s)
    assert moment_of(event).earliest <= moment_of(event).best <= moment_of(event).latest
    assert is_from_the_future(event) is future


@pytest.mark.parametrize(
    ("later", "sooner", "expected"),
    [
        (_moment(11, 20), _moment(0, 10), True),  # every instant lies after
        (_moment(10, 20), _moment(0, 10), None),  # the two may be the same instant
        (_moment(5, 15), _moment(0, 10), None),  # they overlap
        (_moment(0, 10), _moment(5, 15), None),  # likewise the other way round
        (_moment(0, 10), _moment(10, 20), None),  # touching is not before
        (_moment(0, 9), _moment(10, 20), False),  # every instant lies before
        (_moment(3, 3), _moment(3, 3), None),  # one and the same instant
    ],
)
def test_what_the_clocks_cannot_part_is_cannot_tell(
    later: Moment, sooner: Moment, expected: bool | None
) -> None:
    """Only intervals that do not touch are in an order."""
    assert starts_after(later, sooner) is expected


spans = st.tuples(st.integers(0, 20), st.integers(0, 20)).map(lambda p: _moment(min(p), max(p)))


@given(one=spans, other=spans)
def test_after_and_before_never_contradict_each_other(one: Moment, other: Moment) -> None:
    """If one surely starts after the other, the other surely does not start after it."""
    answers = {True: False, False: True, None: None}

    assert starts_after(other, one) is answers[starts_after(one, other)]


def test_a_corrected_event_no_longer_counts() -> None:
    """The correction counts in its place."""
    wrong = an_event(K.PLACED, 1)
    right = an_event(K.PLACED, 2, number=1, corrects=wrong.id)

    assert in_order([right, wrong]) == (right,)


def test_a_correction_of_a_correction_leaves_the_last_word() -> None:
    """Of three in a chain only the last counts."""
    first = an_event(K.PLACED, 1)
    second = an_event(K.PLACED, 2, number=1, corrects=first.id)
    third = an_event(K.PLACED, 3, number=2, corrects=second.id)

    assert in_order([second, third, first]) == (third,)


def test_taking_back_removes_both() -> None:
    """An event that only takes another back does not count itself."""
    wrong = an_event(K.MIXING_STARTED, 1)
    back = an_event(K.MIXING_STARTED, 2, number=1, corrects=wrong.id, data={"taken_back": True})

    assert in_order([wrong, back]) == ()


def test_a_correction_of_another_kind_corrects_nothing() -> None:
    """A slip of the finger cannot undo another step: both count."""
    arrived = an_event(K.ARRIVED, 1)
    slipped = an_event(K.MADE_SAFE, 2, corrects=arrived.id)

    assert in_order([slipped, arrived]) == (arrived, slipped)


def test_what_no_longer_counts_is_still_told() -> None:
    """The history shows what was replaced, in order, and never what only takes back."""
    first = an_event(K.PLACED, 1)
    second = an_event(K.PLACED, 2, number=1, corrects=first.id)
    back = an_event(K.PLACED, 3, number=2, corrects=second.id, data={"taken_back": True})

    assert no_longer_counted([back, second, first]) == (first, second)


def test_a_correction_that_arrives_first_counts_all_the_same() -> None:
    """An event whose corrected one has not arrived yet is there alone."""
    wrong = an_event(K.PLACED, 1)
    right = an_event(K.PLACED, 2, number=1, corrects=wrong.id)

    assert in_order([right]) == (right,)


def test_the_devices_counter_settles_what_happened_in_the_same_instant() -> None:
    """Two events of one device and one instant stand in the device's own order."""
    second = an_event(K.ARRIVED, 1, sequence=2)
    first = an_event(K.MADE_SAFE, 1, sequence=1)

    assert in_order([second, first]) == (first, second)


@given(drawn=events(), data=st.data())
def test_order_depends_on_the_set_alone(drawn: list[Event], data: st.DataObject) -> None:
    """Any order of arrival and any repeats give the same sequence."""
    shuffled = data.draw(st.permutations(drawn))
    repeats = data.draw(st.lists(st.sampled_from(drawn), max_size=5)) if drawn else []

    assert in_order([*shuffled, *repeats]) == in_order(drawn)


@given(drawn=events())
def test_every_event_counts_or_is_told_as_replaced(drawn: list[Event]) -> None:
    """Nothing is lost: what does not count was replaced, or only takes back."""
    back = {event for event in map(id_of, drawn) if event in _taking_back(drawn)}
    parted = {id_of(each) for each in (*in_order(drawn), *no_longer_counted(drawn))}

    assert parted | back == {id_of(each) for each in drawn}
    assert parted & back == set()


def id_of(event: Event) -> UUID:
    """Return an event's id."""
    return event.id


def _taking_back(drawn: list[Event]) -> set[UUID]:
    return {event.id for event in drawn if event.data.get("taken_back") is True}


def test_a_slow_line_does_not_make_the_older_reading_newer() -> None:
    """Two readings two seconds apart; the first was sent over a slow line, five seconds late."""
    first = an_event(K.PRESSURE_READ, number=1, sequence=310, offset_low_s=-1.0, offset_high_s=9.0)
    second = an_event(
        K.PRESSURE_READ, number=2, minute=2 / 60, sequence=311, offset_low_s=-1.0, offset_high_s=1.0
    )

    assert moment_of(first).best > moment_of(second).best
    assert in_order([second, first]) == (first, second)


def test_what_the_clocks_tell_apart_no_count_turns_round() -> None:
    """A counter that began anew after a repair of the phone orders nothing against the clocks."""
    first = an_event(K.ARRIVED, sequence=900)
    second = an_event(K.LEFT, minute=60, sequence=1)

    assert in_order([first, second]) == (first, second)


@given(events())
def test_the_count_of_one_device_moves_nothing_out_of_its_bounds(drawn: list[Event]) -> None:
    """Two events that the clocks part are never turned round, whoever counted what."""
    found = in_order(drawn)

    for before, after in pairwise(found):
        assert starts_after(moment_of(before), moment_of(after)) is not True
