"""A digit that moved: the leak, or noise? All with 0.02 psi/min allowed on a 0.1 psi gauge."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.moved_display import shows_less

MINUTES = np.linspace(0.0, 5.0, 31)
STEP = 0.1
ALLOWED = 0.02
STILL_AIR = np.zeros(31)


def _shows_less(shown: np.ndarray, drift: np.ndarray = STILL_AIR, limit: float = ALLOWED) -> bool:
    return shows_less(MINUTES, shown, drift, resolution_kpa=STEP, limit_kpa_per_min=limit)


def _gauge(true: np.ndarray) -> np.ndarray:
    return np.round(true / STEP) * STEP


def test_a_flicker_that_stays_alike_is_noise() -> None:
    """Every third reading a digit lower, from the first minute to the last."""
    assert _shows_less(np.where(np.arange(31) % 3 == 0, 4.9, 5.0))


def test_a_flicker_that_moves_from_one_digit_to_the_next_is_not() -> None:
    """First seldom, then often, at last always the lower digit: so a leak looks."""
    lower = [5, 9, 12, 14, 16, 18, 19, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30]
    shown = np.full(31, 5.0)
    shown[lower] = 4.9

    assert not _shows_less(shown)


def test_cooling_air_explains_digits_that_fell() -> None:
    """Air from a compressor cools by 5 K, 0.34 psi: with the temperature read, no leak."""
    cooling = -0.34 * (1.0 - np.exp(-MINUTES))
    noise = np.random.default_rng(4).normal(0.0, 0.02, 31)
    shown = _gauge(5.02 + cooling + noise)

    assert _shows_less(shown, cooling)
    assert not _shows_less(shown)


@pytest.mark.parametrize("limit", [0.0, -0.01])
def test_no_leak_at_all_cannot_be_shown(limit: float) -> None:
    """An unknown temperature may eat up the whole allowance: then nothing is shown."""
    assert not _shows_less(np.where(np.arange(31) % 3 == 0, 4.9, 5.0), limit=limit)


@given(
    times_allowed=st.floats(1.0, 5.0),
    place=st.floats(0.0, 1.0),
)
def test_a_leak_without_noise_never_passes(times_allowed: float, place: float) -> None:
    """Wherever within a digit the test began; a display that stood still is not asked about."""
    shown = _gauge(5.0 + place * STEP - times_allowed * ALLOWED * MINUTES)

    assert np.ptp(shown) < STEP / 2 or not _shows_less(shown)


@given(st.lists(st.integers(-1, 1), min_size=31, max_size=31), st.integers(-40, 40))
def test_the_level_itself_says_nothing(moves: list[int], steps: int) -> None:
    """The same digits at another pressure are the same evidence."""
    shown = 5.0 + STEP * np.array(moves)

    assert _shows_less(shown) == _shows_less(shown + steps * STEP)


def test_a_long_log_is_thinned_and_says_the_same() -> None:
    """Ten readings a second for five minutes, steady flicker."""
    minutes = np.linspace(0.0, 5.0, 3001)
    noise = np.random.default_rng(8).normal(0.0, 0.02, 3001)
    shown = _gauge(5.04 + noise)

    assert shows_less(
        minutes, shown, np.zeros(3001), resolution_kpa=STEP, limit_kpa_per_min=ALLOWED
    )
