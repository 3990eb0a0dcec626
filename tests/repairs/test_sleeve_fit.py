"""Which sleeves from stock cover a defect: the fewest, then the shortest."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from repairs.domain.sleeve_fit import MOST_SLEEVES, sleeve_fit, sleeves_needed


@pytest.mark.parametrize(
    ("stock_m", "length_m", "count"),
    [
        ((1.0, 1.5), 1.5, 1),  # 1.0 m is 1 cm short of 1.01: the trap of the trade
        ((1.01, 1.5), 1.01, 1),  # exactly enough, rounding of the sum notwithstanding
        ((1.0,), 1.0, 2),  # then two
        ((2.0, 1.5, 1.2), 1.2, 1),  # of those that do, the shortest
    ],
)
def test_a_short_defect_takes_the_shortest_sleeve_that_covers(
    stock_m: tuple[float, ...], length_m: float, count: int
) -> None:
    """0.20 m with 305 mm coverage and 100 mm placing needs 1.01 m.

    Source: trade facts, section 6 (computed there; 305 mm read in a specification).
    """
    fit = sleeve_fit(0.20, 0.305, 0.10, 0.10, stock_m)

    assert fit.needed_m == pytest.approx(1.01)
    assert (fit.sleeve_length_m, fit.count) == (length_m, count)


def test_a_long_defect_takes_several_with_overlap() -> None:
    """2.6 m from sleeves of 1.0 m with 0.1 m overlap takes three.

    Source: trade facts, section 6 (computed there).
    """
    fit = sleeve_fit(2.6, 0.0, 0.0, 0.1, (1.0,))

    assert fit.count == 3
    assert fit.covered_m == pytest.approx(2.8)
    assert fit.margin_m == pytest.approx(0.1)


def test_fewer_sleeves_come_before_shorter_ones() -> None:
    """One of 2 m beats two of 1 m, each of which is a seam and a setting."""
    assert sleeve_fit(1.0, 0.2, 0.1, 0.1, (1.0, 2.0)).count == 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((1.0, 0.3, 0.1, 0.1, ()), "found none"),  # an empty shelf
        ((1.0, 0.3, 0.1, 0.1, (0.0,)), "lengths above 0"),  # no sleeve
        ((-1.0, 0.3, 0.1, 0.1, (1.0,)), "defect_extent_m"),  # no defect
        ((1.0, float("nan"), 0.1, 0.1, (1.0,)), "coverage_m"),  # not a number
        ((1.0, 0.3, 0.1, 1.0, (1.0,)), "do not"),  # overlap as long as the sleeve
        ((99.0, 0.3, 0.1, 0.1, (1.0,)), "do not"),  # a lining, not a point repair
    ],
)
def test_what_cannot_be_covered_is_refused_with_the_reason(
    arguments: tuple[float, float, float, float, tuple[float, ...]], message: str
) -> None:
    """The message names the field, or says that the stock does not do."""
    with pytest.raises(ValueError, match=message):
        sleeve_fit(*arguments)


lengths = st.floats(0.3, 3.0)


@given(
    extent_m=st.floats(0.0, 8.0),
    coverage_m=st.floats(0.0, 0.5),
    allowance_m=st.floats(0.0, 0.5),
    overlap_m=st.floats(0.0, 0.25),
    stock_m=st.lists(lengths, min_size=1, max_size=5),
)
def test_a_fit_covers_and_no_smaller_number_would(
    extent_m: float, coverage_m: float, allowance_m: float, overlap_m: float, stock_m: list[float]
) -> None:
    """What is chosen covers the need with its margin; one sleeve fewer never does."""
    needed_m = extent_m + 2 * (coverage_m + allowance_m)
    counts = [sleeves_needed(needed_m, one, overlap_m) for one in stock_m]
    assume(any(count is not None and count <= MOST_SLEEVES for count in counts))

    fit = sleeve_fit(extent_m, coverage_m, allowance_m, overlap_m, stock_m)

    assert fit.covered_m >= fit.needed_m - 1e-8
    assert fit.margin_m >= allowance_m - 1e-8
    longest_m = max(stock_m)
    fewer = fit.count - 1
    assert fewer * longest_m - (fewer - 1) * overlap_m < fit.needed_m or fewer == 0


@given(extent_m=st.floats(0.0, 3.0), more_m=st.floats(0.0, 2.0))
def test_a_longer_defect_never_takes_fewer(extent_m: float, more_m: float) -> None:
    """The number of sleeves never falls with the defect."""
    short = sleeve_fit(extent_m, 0.3, 0.1, 0.1, (1.0, 2.0))

    assert sleeve_fit(extent_m + more_m, 0.3, 0.1, 0.1, (1.0, 2.0)).count >= short.count
