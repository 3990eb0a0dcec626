"""In which bound a lateness is counted."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from duework.domain.lateness import BOUNDS_S, bound_of


@pytest.mark.parametrize(
    ("late_s", "bound_s"),
    [
        (0.0, 0.5),  # at the very moment
        (5.0, 5.0),  # the promise with a broker, kept to the last instant
        (5.001, 10.0),  # just not
        (3_600.1, math.inf),  # after an outage
    ],
)
def test_a_lateness_counts_in_the_least_bound_not_below_it(late_s: float, bound_s: float) -> None:
    """As Prometheus counts: less than or equal."""
    assert bound_of(late_s) == bound_s


@given(st.floats(0, 1e9))
def test_every_lateness_has_a_bound(late_s: float) -> None:
    """None is left uncounted."""
    assert late_s <= bound_of(late_s)
    assert bound_of(late_s) in BOUNDS_S


@pytest.mark.parametrize("nonsense", [-0.001, math.nan])
def test_early_is_refused(nonsense: float) -> None:
    """Nothing is done before it is due, so somebody has miscounted."""
    with pytest.raises(ValueError, match="before it is due"):
        bound_of(nonsense)
