"""How far a device's clock is off, as an interval that surely holds the truth."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.device_clock import LONGEST_TRIP_S, offset_interval, skew_s

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_a_right_clock_lies_within_one_trip() -> None:
    """A clock that agrees on arrival may be up to one trip fast, and not slow."""
    assert offset_interval(device_now=NOON, received_at=NOON) == (-LONGEST_TRIP_S, 0.0)


def test_a_clock_an_hour_fast_is_seen_as_such() -> None:
    """Device time plus offset is true time, so a fast clock has a negative offset."""
    low, high = offset_interval(device_now=NOON + timedelta(hours=1), received_at=NOON)

    assert (low, high) == (-3600.0 - LONGEST_TRIP_S, -3600.0)


def test_the_zone_in_which_the_device_speaks_does_not_matter() -> None:
    """The same instant with another offset from UTC gives the same interval."""
    there = datetime.fromisoformat("2026-11-25T07:00:00-05:00")

    assert offset_interval(device_now=there, received_at=NOON) == (-LONGEST_TRIP_S, 0.0)


@given(fast_s=st.floats(-1e6, 1e6), trip_s=st.floats(0, LONGEST_TRIP_S))
def test_the_true_offset_always_lies_inside(fast_s: float, trip_s: float) -> None:
    """However fast the clock and however long the trip, the interval holds the truth."""
    sent_at = NOON - timedelta(seconds=trip_s)

    low, high = offset_interval(device_now=sent_at + timedelta(seconds=fast_s), received_at=NOON)

    assert low - 1e-5 <= -fast_s <= high + 1e-5


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (-30.0, 0.0, None),
        (90.0, 120.0, None),  # 120 s are not told yet
        (90.1, 120.1, None),  # surely off by 90 s only: the network may be the rest
        (120.1, 150.1, 120.1),  # slow
        (-200.0, -120.5, -120.5),  # fast
        (-200.0, -120.0, None),
    ],
)
def test_a_clock_far_off_is_told(low: float, high: float, told: float | None) -> None:
    """Beyond two minutes for sure; a slow network explains thirty seconds."""
    assert skew_s(low, high) == told
