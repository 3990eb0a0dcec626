"""The hot side of a resin's temperature is never cooler than the truth can be."""

import math
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given

from repairs.domain.temperature_log import Keep, Reading, clean
from repairs.domain.working_profile import HotSide, WorkingProfile, lifted, working_profile
from tests.repairs.cure_examples import NOON, log_of, logs, working_chart


def _profile(
    readings: tuple[Reading, ...], elapsed_min: float, *, has_declared: bool = False
) -> WorkingProfile:
    until = NOON + timedelta(minutes=elapsed_min)
    hot, cold = (clean(readings, NOON, until, keep) for keep in (Keep.HOTTEST, Keep.COLDEST))
    return working_profile(
        hot, cold, elapsed_min, HotSide(has_declared, 1.0, 15.0), working_chart()
    )


def test_an_interval_has_its_hotter_end_and_the_tolerance_on_top() -> None:
    """Between 18 and 22 °C the hot side is 23 °C, the cold side 17 °C."""
    found = _profile(log_of([0, 5], {0: 18.0, 5: 22.0}.__getitem__), 5.0)

    assert found.hot.start_c[1] == 23.0
    assert found.cold.start_c[1] == 17.0


@pytest.mark.parametrize(
    ("elapsed_min", "has_declared", "flags"),
    [
        (15.0, False, ()),  # exactly the longest silence
        (15.1, False, ("gap",)),  # a breath longer
        (60.0, True, ("declared_only",)),  # a statement about the batch, not a log with a gap
    ],
)
def test_silence_after_the_last_reading_is_a_gap(
    elapsed_min: float, flags: tuple[str, ...], *, has_declared: bool
) -> None:
    """A reading serves fifteen minutes, a declared temperature the whole time."""
    found = _profile(log_of([0], lambda _: 20.0), elapsed_min, has_declared=has_declared)

    assert found.flags == flags
    assert math.isnan(found.cold.start_c[-1]) is ("gap" in flags)


@pytest.mark.parametrize(
    ("at_c", "flags"),
    [
        (10.9, ("below_chart",)),  # less 1 K of tolerance below the coldest row's 10 °C
        (11.0, ()),  # just on it
        (29.0, ()),  # with 1 K just on the hottest row's 30 °C
        (29.1, ("above_chart",)),  # beyond it
    ],
)
def test_a_temperature_that_may_be_off_the_chart_is_named(
    at_c: float, flags: tuple[str, ...]
) -> None:
    """The chart goes from 10 to 30 °C, the thermometer may be off by 1 K."""
    assert _profile(log_of([0, 5], lambda _: at_c), 5.0).flags == flags


def test_cold_below_the_chart_gains_no_time() -> None:
    """Lifted to the coldest row, the slowest time known."""
    found = lifted(_profile(log_of([0, 5], lambda _: 3.0), 5.0).best, 10.0)

    assert found.start_c.tolist() == [10.0, 10.0, 10.0]


@given(readings=logs())
def test_hot_best_and_cold_stand_in_order(readings: tuple[Reading, ...]) -> None:
    """In every interval the hot side is above the best, the cold side below or unknown."""
    found = _profile(readings, 240.0)

    assert np.all(found.hot.start_c >= np.maximum(found.best.start_c, found.best.end_c))
    cold_c = np.where(np.isnan(found.cold.start_c), -np.inf, found.cold.start_c)
    assert np.all(cold_c <= found.hot.start_c)
