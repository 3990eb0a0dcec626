"""Where the sleeve sits: two distances must agree, and even then only the camera proves it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.location import (
    ErrorBudget,
    coverage_probability,
    distances_agree,
    from_other_end_m,
    hose_mark_m,
    mirrored_clock,
    opposite_distances_agree,
    placing_allowance_m,
    sigma_m,
)
from repairs.domain.units import FOOT_M

AT_150_FT = ErrorBudget(
    distance_m=150 * FOOT_M,
    camera_fraction=0.0025,
    hose_fraction=0.002,
    zero_m=0.1 * FOOT_M,
    mark_m=0.1 * FOOT_M,
    place_m=0.15 * FOOT_M,
)


def test_errors_add_as_squares() -> None:
    """At 150 ft the study's budget gives 0.5226136 ft.

    Source: C-sigma of core_reference.csv (root of squares; 0.52238 by 2 M simulations).
    """
    assert sigma_m(AT_150_FT) / FOOT_M == pytest.approx(0.5226136240091718, rel=1e-12)


def test_the_chance_of_coverage_is_met() -> None:
    """4 ft on 1 ft with 0.5 ft wanted and 0.2 ft bias covers in 92.6 %.

    Source: C-pcover of core_reference.csv (normal; 0.926042 by 2 M simulations).
    """
    found = coverage_probability(4.0, 1.0, 0.5, 0.5226136240091718, 0.2)

    assert found == pytest.approx(0.9262529660168239, rel=1e-9)


def test_the_chance_of_coverage_agrees_with_a_simulation() -> None:
    """Two hundred thousand placings give the same share, within their own error."""
    offset = np.random.default_rng(11).normal(0.2, 0.5226, 200_000)
    play = (4.0 - 1.0) / 2.0 - 0.5

    share = float(np.mean(np.abs(offset) <= play))

    assert coverage_probability(4.0, 1.0, 0.5, 0.5226, 0.2) == pytest.approx(share, abs=0.003)


@pytest.mark.parametrize(
    ("distance_ft", "probability", "sleeve_ft"),
    [
        (50, 0.95, 3.02),
        (100, 0.95, 3.49),
        (200, 0.95, 4.64),
        (400, 0.95, 7.08),
        (50, 0.99, 3.34),
        (400, 0.99, 8.68),
    ],
)
def test_the_sleeve_for_a_chance_grows_with_distance(
    distance_ft: float, probability: float, sleeve_ft: float
) -> None:
    """Defect 1 ft, 0.5 ft wanted: the study's table. Source: calculation study, C."""
    sigma_ft = sigma_m(replace(AT_150_FT, distance_m=distance_ft * FOOT_M)) / FOOT_M

    needed_ft = 1.0 + 2.0 * (0.5 + placing_allowance_m(sigma_ft, probability))

    assert needed_ft == pytest.approx(sleeve_ft, abs=0.01)


@pytest.mark.parametrize(
    ("tape_m", "run_m", "agrees"),
    [
        (30.305, 30.0, True),  # exactly 305 mm, which is more than 0.5 % of 30 m
        (30.306, 30.0, False),  # a millimetre more
        (30.5, 100.0, True),  # 0.5 % of 100 m
        (30.501, 100.0, False),  # a millimetre more
        (29.695, 30.0, True),  # the other way
        (30.0, 30.0, True),  # the same
    ],
)
def test_counter_and_tape_agree_within_the_larger_tolerance(
    tape_m: float, run_m: float, *, agrees: bool
) -> None:
    """0.5 % of the run or 1 ft, whichever is greater.

    Source: a city's specification, read: 30 m gives 0.305, 100 m gives 0.50 m.
    """
    found = distances_agree(30.0, tape_m, run_m, 0.005, 0.305)

    assert found.agrees is agrees
    assert found.tolerance_m == pytest.approx(max(0.005 * run_m, 0.305))


@pytest.mark.parametrize(
    ("downstream_m", "upstream_m", "agrees"),
    [
        (20.0, 40.0, True),  # closes on the length
        (20.0, 40.305, True),  # at the tolerance
        (20.0, 40.4, False),  # a wrong zero
        (20.0, 20.0, False),  # measured from the same end twice
    ],
)
def test_distances_from_both_ends_close_on_the_run(
    downstream_m: float, upstream_m: float, *, agrees: bool
) -> None:
    """The two add up to the run within tolerance, or an access point is the wrong one."""
    found = opposite_distances_agree(downstream_m, upstream_m, 60.0, 0.005, 0.305)

    assert found.agrees is agrees


@pytest.mark.parametrize(
    ("hour", "seen"),
    [
        (12, 12),  # crown
        (6, 6),  # invert
        (3, 9),  # right becomes left
        (10, 2),  # upper left becomes upper right
        (1, 11),  # beside the crown
    ],
)
def test_clock_positions_mirror_against_the_direction(hour: int, seen: int) -> None:
    """Filmed from the other end left and right change, crown and invert do not."""
    assert mirrored_clock(hour) == seen


def test_the_hose_is_marked_with_all_offsets() -> None:
    """Camera distance, its zero, hose zero to packer centre, and slack add up."""
    assert hose_mark_m(30.0, 0.25, 0.6, 0.05) == pytest.approx(30.9)


def test_a_distance_is_seen_from_the_other_end() -> None:
    """20 m down a run of 60 are 40 m up it; outside the run there is none."""
    assert from_other_end_m(20.0, 60.0) == 40.0
    with pytest.raises(ValueError, match="expected 0 to 60 m"):
        from_other_end_m(60.1, 60.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: distances_agree(-1.0, 1.0, 30.0, 0.005, 0.3), "distance"),  # behind the datum
        (lambda: distances_agree(1.0, float("nan"), 30.0, 0.005, 0.3), "distance"),  # no number
        (lambda: distances_agree(1.0, 1.0, 0.0, 0.005, 0.3), "run_length_m"),  # no run
        (lambda: distances_agree(1.0, 1.0, 30.0, -0.1, 0.3), "tolerance_fraction"),  # no tolerance
        (lambda: mirrored_clock(0), "hour"),  # 12, not 0
        (lambda: mirrored_clock(13), "hour"),  # a clock has twelve
        (lambda: placing_allowance_m(0.1, 1.0), "probability"),  # certainty is not for sale
        (lambda: coverage_probability(1.0, 1.0, 0.0, -0.1), "sigma_m"),  # no error
        (lambda: replace(AT_150_FT, zero_m=-0.1), "zero_m"),  # no error
    ],
)
def test_impossible_figures_are_refused_by_name(call: object, message: str) -> None:
    """The message names the field."""
    assert callable(call)
    with pytest.raises(ValueError, match=message):
        call()


def test_a_sleeve_too_short_for_the_rule_never_covers() -> None:
    """Without play there is no chance; without error the chance is whole."""
    assert coverage_probability(1.0, 1.0, 0.5, 0.1) == 0.0
    assert coverage_probability(2.0, 1.0, 0.5, 0.0) == 1.0
    assert coverage_probability(2.0, 1.0, 0.4, 0.0, 0.2) == 0.0


@given(
    sleeve_m=st.floats(0.5, 4.0),
    more_m=st.floats(0.0, 2.0),
    sigma=st.floats(0.01, 1.0),
    worse=st.floats(1.0, 3.0),
)
def test_longer_covers_more_and_vaguer_covers_less(
    sleeve_m: float, more_m: float, sigma: float, worse: float
) -> None:
    """The chance rises with the sleeve and falls with the error."""
    chance = coverage_probability(sleeve_m, 0.3, 0.1, sigma)

    assert coverage_probability(sleeve_m + more_m, 0.3, 0.1, sigma) >= chance - 1e-12
    assert coverage_probability(sleeve_m, 0.3, 0.1, sigma * worse) <= chance + 1e-12
    assert 0.0 <= chance <= 1.0


@given(sigma=st.floats(0.01, 1.0), probability=st.floats(0.01, 0.999), extent_m=st.floats(0.0, 2.0))
def test_the_allowance_gives_the_chance_asked_for(
    sigma: float, probability: float, extent_m: float
) -> None:
    """Allowance and chance are each other's inverse."""
    sleeve_m = extent_m + 2 * (0.3 + placing_allowance_m(sigma, probability))

    assert coverage_probability(sleeve_m, extent_m, 0.3, sigma) == pytest.approx(
        probability, rel=1e-6
    )


@given(hour=st.integers(1, 12))
def test_mirroring_twice_is_the_same(hour: int) -> None:
    """Seen from the other end and back again, a position is where it was."""
    assert mirrored_clock(mirrored_clock(hour)) == hour


@given(
    counter_m=st.floats(0.0, 200.0), tape_m=st.floats(0.0, 200.0), tolerance_m=st.floats(0.0, 2.0)
)
def test_agreement_knows_no_order(counter_m: float, tape_m: float, tolerance_m: float) -> None:
    """Counter against tape is tape against counter."""
    one = distances_agree(counter_m, tape_m, 100.0, 0.005, tolerance_m)
    other = distances_agree(tape_m, counter_m, 100.0, 0.005, tolerance_m)

    assert (one.agrees, one.difference_m) == (other.agrees, other.difference_m)
