"""Where the sleeve will sit, and how surely it covers the defect.

A counter's tolerance is bigger than the margin of most sleeves. So a distance alone
never proves coverage: the camera must see both ends of the sleeve against the defect.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

from repairs.domain.units import Dimension, words

CLOCK_HOURS = 12
_ROUNDING_M = 1e-9
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class ErrorBudget:
    """Independent standard errors of a sleeve's place; percentages from the crew's own logs.

    Parameters
    ----------
    distance_m
        Distance from the datum, >= 0.
    camera_fraction, hose_fraction
        Standard error of counter and hose mark as a share of the distance, >= 0.
    zero_m, mark_m, place_m
        Standard errors of the zero point, of the mark, and of placing, >= 0.
    """

    distance_m: float
    camera_fraction: float
    hose_fraction: float
    zero_m: float
    mark_m: float
    place_m: float

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name in (
            "distance_m",
            "camera_fraction",
            "hose_fraction",
            "zero_m",
            "mark_m",
            "place_m",
        ):
            _refuse(name, getattr(self, name))


@dataclass(frozen=True, slots=True)
class Agreement:
    """Whether two distances agree, by how much they differ, and how much they may."""

    agrees: bool
    difference_m: float
    tolerance_m: float
    working: tuple[str, ...]


def sigma_m(budget: ErrorBudget) -> float:
    """Return the standard error of the sleeve's place: the root of the sum of squares.

    Limits
    ------
    Errors are taken as independent; one wrong zero point breaks that. Marking and placing
    with the same hose and counter cancels the two shares: then give them as 0.

    Source
    ------
    Propagation of independent errors.
    """
    return math.hypot(
        budget.camera_fraction * budget.distance_m,
        budget.hose_fraction * budget.distance_m,
        budget.zero_m,
        budget.mark_m,
        budget.place_m,
    )


def coverage_probability(
    sleeve_m: float, defect_extent_m: float, coverage_m: float, sigma_m: float, bias_m: float = 0.0
) -> float:
    """Return the chance that a sleeve covers the defect with the wanted length at both ends.

    ``P = Phi((a - b)/s) - Phi((-a - b)/s)``, ``a = (L - D)/2 - m``.

    Parameters
    ----------
    sleeve_m, defect_extent_m, coverage_m
        Sleeve L, defect D, and length m wanted past either end, >= 0.
    sigma_m
        Standard error s of the place, >= 0.
    bias_m
        Known systematic error b.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    ValueError
        When a figure is negative or not a number.

    Source
    ------
    Normal distribution; checked against a simulation of two million placings.

    Limits
    ------
    Gaussian errors are an assumption of this project.
    """
    for name, value in (
        ("sleeve_m", sleeve_m),
        ("defect_extent_m", defect_extent_m),
        ("coverage_m", coverage_m),
        ("sigma_m", sigma_m),
        ("bias_m", abs(bias_m)),
    ):
        _refuse(name, value)
    play_m = (sleeve_m - defect_extent_m) / 2.0 - coverage_m
    if play_m < 0.0:
        return 0.0
    if sigma_m == 0.0:
        return 1.0 if abs(bias_m) <= play_m else 0.0
    return _NORMAL.cdf((play_m - bias_m) / sigma_m) - _NORMAL.cdf((-play_m - bias_m) / sigma_m)


def placing_allowance_m(sigma_m: float, probability: float) -> float:
    """Return the length to allow at each end so that the defect is covered with `probability`.

    Raises
    ------
    ValueError
        When the probability is not between 0 and 1, both excluded, or sigma is negative.
    """
    _refuse("sigma_m", sigma_m)
    if not 0.0 < probability < 1.0:
        raise ValueError(f"probability: found {probability!r}, expected between 0 and 1.")
    return sigma_m * _NORMAL.inv_cdf((1.0 + probability) / 2.0)


def hose_mark_m(
    camera_distance_m: float,
    camera_zero_offset_m: float,
    hose_zero_to_packer_centre_m: float,
    slack_m: float,
) -> float:
    """Return where on the hose to put the tape that is to stop at the access edge."""
    return camera_distance_m + camera_zero_offset_m + hose_zero_to_packer_centre_m + slack_m


def distances_agree(
    counter_m: float,
    tape_m: float,
    run_length_m: float,
    tolerance_fraction: float,
    tolerance_m: float,
) -> Agreement:
    """Tell whether counter and tape agree: within the larger of a share of the run and a length.

    Parameters
    ----------
    counter_m, tape_m
        The two distances from the same datum, >= 0.
    run_length_m
        Length of the run, > 0.
    tolerance_fraction, tolerance_m
        What the contract allows, >= 0; 0.005 and 0.305 m in a published one.

    Returns
    -------
    Agreement
        Agrees also exactly at the tolerance.

    Raises
    ------
    ValueError
        When a figure is negative or not a number.

    Source
    ------
    A city's specification: 0.5 % of the reach or 1 ft, whichever is greater (read).

    Limits
    ------
    Agreement does not prove coverage. The camera must see both ends of the sleeve.
    """
    _refuse_distances(run_length_m, tolerance_fraction, tolerance_m, counter_m, tape_m)
    allowed_m = max(tolerance_fraction * run_length_m, tolerance_m)
    difference_m = abs(counter_m - tape_m)
    return _agreement(
        difference_m,
        allowed_m,
        f"Counter {counter_m:g} m, tape {tape_m:g} m: they differ by "
        f"{words(difference_m, Dimension.LENGTH, 3)}.",
        _tolerance_line(run_length_m, tolerance_fraction, tolerance_m, allowed_m),
    )


def opposite_distances_agree(
    downstream_m: float,
    upstream_m: float,
    run_length_m: float,
    tolerance_fraction: float,
    tolerance_m: float,
) -> Agreement:
    """Tell whether distances measured from both ends of a run close: ``d + d' = L``.

    Parameters, Returns, Raises and Limits are those of `distances_agree`. A sum far off
    the length points at a wrong access point, a wrong zero or a wrong direction.
    """
    _refuse_distances(run_length_m, tolerance_fraction, tolerance_m, downstream_m, upstream_m)
    allowed_m = max(tolerance_fraction * run_length_m, tolerance_m)
    total_m = downstream_m + upstream_m
    return _agreement(
        abs(total_m - run_length_m),
        allowed_m,
        f"{downstream_m:g} + {upstream_m:g} = {total_m:g} m, and the run is {run_length_m:g} m.",
        _tolerance_line(run_length_m, tolerance_fraction, tolerance_m, allowed_m),
    )


def from_other_end_m(distance_m: float, run_length_m: float) -> float:
    """Return a distance as seen from the run's other access point.

    Raises
    ------
    ValueError
        When the distance lies outside the run.
    """
    if not 0.0 <= distance_m <= run_length_m:
        raise ValueError(f"distance_m: found {distance_m!r}, expected 0 to {run_length_m:g} m.")
    return run_length_m - distance_m


def mirrored_clock(hour: int) -> int:
    """Return a clock position as seen against the other direction: ``(12 - h) mod 12``.

    Raises
    ------
    ValueError
        When the hour is not 1 to 12.
    """
    if not 1 <= hour <= CLOCK_HOURS:
        raise ValueError(f"hour: found {hour!r}, expected 1 to {CLOCK_HOURS}.")
    return (CLOCK_HOURS - hour) % CLOCK_HOURS or CLOCK_HOURS


def _agreement(difference_m: float, allowed_m: float, *lines: str) -> Agreement:
    agrees = difference_m <= allowed_m + _ROUNDING_M
    verdict = "They agree." if agrees else "They do not agree: measure again before placing."
    return Agreement(agrees, difference_m, allowed_m, (*lines, verdict))


def _tolerance_line(
    run_length_m: float, tolerance_fraction: float, tolerance_m: float, allowed_m: float
) -> str:
    return (
        f"Allowed: the larger of {tolerance_fraction:.3%} of {run_length_m:g} m and "
        f"{tolerance_m:g} m = {words(allowed_m, Dimension.LENGTH, 3)}."
    )


def _refuse_distances(
    run_length_m: float, tolerance_fraction: float, tolerance_m: float, *distances_m: float
) -> None:
    _refuse("tolerance_fraction", tolerance_fraction)
    _refuse("tolerance_m", tolerance_m)
    for distance_m in distances_m:
        _refuse("distance", distance_m)
    if not (math.isfinite(run_length_m) and run_length_m > 0.0):
        raise ValueError(f"run_length_m: found {run_length_m!r}, expected more than 0.")


def _refuse(name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"{name}: found {value!r}, expected a number of 0 or more.")
