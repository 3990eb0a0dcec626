"""Readings are cleaned on the safe side before any clock uses them."""

from datetime import timedelta, timezone

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.temperature_log import (
    FLAG_WORDS,
    Keep,
    Reading,
    clean,
    has_spike,
    running_median,
)
from tests.repairs.cure_examples import NOON, logs

EVENING = NOON + timedelta(hours=9)


def _clean(*pairs: tuple[float, float], keep: Keep = Keep.COLDEST) -> list[tuple[float, float]]:
    readings = [Reading(NOON + timedelta(minutes=minute), at_c) for minute, at_c in pairs]
    log = clean(readings, NOON, EVENING, keep)
    return list(zip(log.minutes.tolist(), log.temperature_c.tolist(), strict=True))


def test_readings_are_put_in_order() -> None:
    """A log that arrives out of order is sorted by its stamps."""
    assert _clean((10, 12.0), (0, 14.0), (5, 13.0)) == [(0, 14.0), (5, 13.0), (10, 12.0)]


@pytest.mark.parametrize(
    ("keep", "kept_c"),
    [
        (Keep.COLDEST, 11.0),  # cure: colder is safe
        (Keep.HOTTEST, 15.0),  # working time: hotter is safe
    ],
)
def test_of_two_readings_with_one_stamp_the_safe_one_counts(keep: Keep, kept_c: float) -> None:
    """A conflict is settled by what it is used for, not by which came last."""
    assert _clean((5, 11.0), (5, 15.0), (5, 12.0), keep=keep) == [(5, kept_c)]
    assert _clean((5, 15.0), (5, 12.0), (5, 11.0), keep=keep) == [(5, kept_c)]


@pytest.mark.parametrize(
    ("at_c", "used"),
    [
        (45.0, True),  # the limit itself
        (45.1, False),  # 50 °F typed as °C would shorten a cure nearly sevenfold
        (-30.0, True),  # the limit itself
        (-30.1, False),  # a broken probe
    ],
)
def test_an_implausible_reading_is_not_used_and_is_named(at_c: float, *, used: bool) -> None:
    """What no pipe can have is left out, with a flag."""
    log = clean([Reading(NOON, at_c)], NOON, EVENING, Keep.COLDEST)

    assert (log.minutes.size == 1) is used
    assert log.flags == (() if used else ("implausible",))


def test_an_implausible_reading_takes_no_other_with_it() -> None:
    """What comes before and after it in the log is used."""
    assert _clean((0, 12.0), (5, 77.0), (10, 13.0)) == [(0, 12.0), (10, 13.0)]


def test_readings_after_now_are_not_used() -> None:
    """A device whose clock runs ahead cannot report the future."""
    readings = [Reading(EVENING + timedelta(seconds=1), 30.0), Reading(EVENING, 12.0)]

    for order in (readings, readings[::-1]):
        assert clean(order, NOON, EVENING, Keep.COLDEST).temperature_c.tolist() == [12.0]


@pytest.mark.parametrize(
    ("reading", "message"),
    [
        (Reading(NOON.replace(tzinfo=None), 12.0), "^reading: .* without offset"),  # which zone?
        (Reading(NOON, float("nan")), "expected a number"),  # no temperature
        (Reading(NOON, float("inf")), "expected a number"),  # no temperature
    ],
)
def test_a_reading_that_is_none_is_refused(reading: Reading, message: str) -> None:
    """Broken readings are refused aloud, never passed over."""
    with pytest.raises(ValueError, match=message):
        clean([reading], NOON, EVENING, Keep.COLDEST)


def test_a_single_spike_disappears_in_the_median() -> None:
    """One wild reading among steady ones is replaced by its neighbours' middle."""
    spiky = np.array([12.0, 12.0, 45.0, 12.0, 12.0])

    assert running_median(spiky).tolist() == [12.0] * 5
    assert has_spike(spiky)
    assert not has_spike(np.array([12.0, 13.0, 14.0, 15.0]))


@pytest.mark.parametrize(
    ("at_c", "named"),
    [
        (16.99, False),  # less than 5 K off its neighbours' 12 °C
        (17.0, True),  # 5 K off
        (7.0, True),  # 5 K off to the cold side
    ],
)
def test_a_reading_five_degrees_off_its_neighbours_is_a_spike(at_c: float, *, named: bool) -> None:
    """Named at 5 K and more."""
    assert has_spike(np.array([12.0, 12.0, at_c, 12.0, 12.0])) is named


def test_the_median_leaves_a_steady_fall_alone() -> None:
    """Inside a steady fall each reading is its own middle."""
    assert running_median(np.array([20.0, 18.0, 16.0, 14.0]))[1:-1].tolist() == [18.0, 16.0]


def test_every_flag_has_plain_words() -> None:
    """A code is shown to people as one sentence."""
    assert all(sentence.endswith(".") or "?" in sentence for sentence in FLAG_WORDS.values())


@given(readings=logs(), keep=st.sampled_from(Keep), data=st.data())
def test_order_and_repetition_change_nothing(
    readings: tuple[Reading, ...], keep: Keep, data: st.DataObject
) -> None:
    """The same readings in any order, sent twice, in another zone, are the same log."""
    shuffled = list(data.draw(st.permutations(readings + readings)))
    zone = timezone(timedelta(hours=data.draw(st.integers(-12, 12))))
    elsewhere = [Reading(one.at.astimezone(zone), one.temperature_c) for one in shuffled]

    log, same = (clean(each, NOON, EVENING, keep) for each in (readings, elsewhere))

    assert log.minutes.tolist() == same.minutes.tolist()
    assert log.temperature_c.tolist() == same.temperature_c.tolist()


@given(at_c=st.lists(st.floats(-20.0, 45.0), min_size=1, max_size=12), data=st.data())
def test_a_warmer_reading_never_lowers_a_median(at_c: list[float], data: st.DataObject) -> None:
    """The filter is monotone, so a warmer log can never give a later cure."""
    index = data.draw(st.integers(0, len(at_c) - 1))
    warmer = np.array(at_c)
    warmer[index] += data.draw(st.floats(0.0, 20.0))

    assert np.all(running_median(warmer) >= running_median(np.array(at_c)))


@given(readings=logs(), shift_h=st.integers(-1000, 1000))
def test_moving_everything_in_time_changes_nothing(
    readings: tuple[Reading, ...], shift_h: int
) -> None:
    """Only times since the start matter."""
    shift = timedelta(hours=shift_h)
    moved = [Reading(one.at + shift, one.temperature_c) for one in readings]

    log = clean(readings, NOON, EVENING, Keep.COLDEST)
    later = clean(moved, NOON + shift, EVENING + shift, Keep.COLDEST)

    assert log.minutes.tolist() == later.minutes.tolist()
