"""Silences and stretches outside a window are found exactly once each."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.excursions import ROUNDING_KPA, Window, excursions_of, silences, worst_a_stamp

WINDOW = Window(0.0, 100.0, 31.0, 35.0, 0.5, 10.0, 0.95)


@pytest.mark.parametrize(
    ("times_s", "found"),
    [
        ([], [(0.0, 100.0)]),  # no sample: one silence from start to end
        ([5.0, 95.0], [(5.0, 95.0)]),  # in the middle only
        ([20.0, 30.0, 80.0], [(0.0, 20.0), (30.0, 80.0), (80.0, 100.0)]),  # at both edges too
        (list(range(0, 101, 10)), []),  # every 10 s: just not a silence
    ],
)
def test_silences_are_found_with_both_edges(
    times_s: list[float], found: list[tuple[float, float]]
) -> None:
    """Longer than 10 s, before the first and after the last sample included."""
    gaps = silences(np.array(times_s, dtype=float), WINDOW)

    assert [(gap.start_s, gap.end_s) for gap in gaps] == found


@pytest.mark.parametrize(
    ("shown", "start_s", "end_s"),
    [
        ([33.0, 29.0, 33.0], 5.0, 15.0),  # crosses the low limit half way down and up
        ([33.0, 37.0, 33.0], 5.0, 15.0),  # the high limit likewise
        ([29.0, 29.0, 33.0], 0.0, 15.0),  # outside from the first sample on
        ([33.0, 29.0, 29.0], 5.0, 20.0),  # outside until the last sample
    ],
)
def test_an_excursion_is_cut_where_it_crosses_the_limit(
    shown: list[float], start_s: float, end_s: float
) -> None:
    """Straight lines between samples, no extrapolation beyond them."""
    (run,) = excursions_of(np.array([0.0, 10.0, 20.0]), np.array(shown), WINDOW)

    assert (run.start_s, run.end_s) == (start_s, end_s)


def test_a_log_inside_has_no_excursion() -> None:
    """At the limits is inside, and so is a thousandth of a pascal of rounding."""
    at_s = np.array([0.0, 10.0])

    assert excursions_of(at_s, np.array([31.0, 35.0]), WINDOW) == ()
    rounded = np.array([31.0 - ROUNDING_KPA, 35.0 + ROUNDING_KPA])
    assert excursions_of(at_s, rounded, WINDOW) == ()
    assert len(excursions_of(at_s, np.array([31.0 - 2e-6, 35.0]), WINDOW)) == 1
    assert len(excursions_of(at_s, np.array([31.0, 35.0 + 2e-6]), WINDOW)) == 1


@pytest.mark.parametrize(
    ("shown", "next_good_s"),
    [
        ([33.0, 29.0, 33.0], 20.0),  # the last sample is the first good one again
        ([29.0, 33.0, 33.0], 10.0),  # one in the middle
        ([33.0, 33.0, 29.0], 100.0),  # none any more: the end of the judged time
    ],
)
def test_an_excursion_lasts_at_most_until_the_next_good_sample(
    shown: list[float], next_good_s: float
) -> None:
    """Between two samples nobody knows when it came back."""
    (run,) = excursions_of(np.array([0.0, 10.0, 20.0]), np.array(shown), WINDOW)

    assert run.until_next_good_s == next_good_s


samples = st.lists(st.tuples(st.integers(-5, 105), st.floats(25.0, 40.0)), max_size=30)


@given(rows=samples)
def test_of_each_stamp_one_sample_is_left_the_worst(rows: list[tuple[int, float]]) -> None:
    """Times rise strictly, and no sample left out was further outside."""
    times_s = np.array([at for at, _ in rows], dtype=float)
    shown = np.array([kpa for _, kpa in rows], dtype=float)

    kept_s, kept_kpa = worst_a_stamp(times_s, shown, WINDOW)

    worst: dict[float, float] = {}
    for at, kpa in rows:
        if 0 <= at <= 100:
            worst[at] = max(worst.get(at, -np.inf), 31.0 - kpa, kpa - 35.0)
    assert kept_s.tolist() == sorted(worst)
    assert np.maximum(31.0 - kept_kpa, kept_kpa - 35.0).tolist() == [
        worst[at] for at in sorted(worst)
    ]
