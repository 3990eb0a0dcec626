"""Which sleeves from stock cover a defect: the fewest, and of those the shortest."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from repairs.domain.units import Dimension, words

_ROUNDING_M = 1e-9
"""A nanometre: a sleeve exactly long enough must not fail by the rounding of a sum."""
MOST_SLEEVES = 20
"""More in a row is a lining, not a point repair. Source: common practice, none published."""


@dataclass(frozen=True, slots=True)
class SleeveFit:
    """Sleeves of one length that cover a defect.

    Parameters
    ----------
    needed_m
        Length to cover: defect, and coverage and allowance at both ends.
    sleeve_length_m, count, covered_m
        What to take, how many, and the length they cover with their overlaps.
    margin_m
        What is left at each end beyond the coverage rule when placed in the middle.
    """

    needed_m: float
    sleeve_length_m: float
    count: int
    covered_m: float
    margin_m: float
    working: tuple[str, ...]


def sleeve_fit(
    defect_extent_m: float,
    coverage_m: float,
    allowance_m: float,
    overlap_m: float,
    stock_lengths_m: Iterable[float],
) -> SleeveFit:
    """Choose sleeves: ``needed = extent + 2 (coverage + allowance)``, fewest, then shortest.

    Parameters
    ----------
    defect_extent_m
        Length of the defect along the pipe, >= 0.
    coverage_m
        What the contract wants past either end, >= 0.
    allowance_m
        Placing error to allow for at either end, >= 0.
    overlap_m
        Overlap of two sleeves in a row, >= 0.
    stock_lengths_m
        Lengths that can be had, each > 0.

    Returns
    -------
    SleeveFit
        One kind of sleeve, and how many: ``ceil((needed - s) / (L - s))``.

    Raises
    ------
    ValueError
        When a figure cannot be, or no length in stock will do.

    Source
    ------
    Arithmetic; 1 ft (305 mm) past either end is read in a public specification. The
    overlap of sleeves has no source: the contract states it.
    """
    for name, value in (
        ("defect_extent_m", defect_extent_m),
        ("coverage_m", coverage_m),
        ("allowance_m", allowance_m),
        ("overlap_m", overlap_m),
    ):
        if not (math.isfinite(value) and value >= 0.0):
            raise ValueError(f"{name}: found {value!r}, expected 0 or more.")
    needed_m = defect_extent_m + 2.0 * (coverage_m + allowance_m)
    count, length_m = _fewest_then_shortest(needed_m, overlap_m, tuple(stock_lengths_m))
    covered_m = count * length_m - (count - 1) * overlap_m
    margin_m = (covered_m - defect_extent_m) / 2.0 - coverage_m
    return SleeveFit(
        needed_m=needed_m,
        sleeve_length_m=length_m,
        count=count,
        covered_m=covered_m,
        margin_m=margin_m,
        working=(
            (
                f"Needed = {defect_extent_m:g} + 2 ({coverage_m:g} coverage + {allowance_m:g} "
                f"placing) = {words(needed_m, Dimension.LENGTH, 3)}."
            ),
            (
                f"{count} x {length_m:g} m, {overlap_m:g} m overlap between two, cover "
                f"{words(covered_m, Dimension.LENGTH, 3)}."
            ),
            f"Left at each end beyond the coverage rule: {words(margin_m, Dimension.LENGTH, 3)}.",
        ),
    )


def sleeves_needed(needed_m: float, length_m: float, overlap_m: float) -> int | None:
    """Return how many sleeves of one length cover `needed_m`, or None when none do."""
    if length_m >= needed_m - _ROUNDING_M:
        return 1
    if length_m - overlap_m <= _ROUNDING_M:
        return None
    return math.ceil((needed_m - overlap_m - _ROUNDING_M) / (length_m - overlap_m))


def _fewest_then_shortest(
    needed_m: float, overlap_m: float, stock_lengths_m: tuple[float, ...]
) -> tuple[int, float]:
    if not stock_lengths_m:
        raise ValueError("stock_lengths_m: found none, expected at least one length.")
    for length_m in stock_lengths_m:
        if not (math.isfinite(length_m) and length_m > 0.0):
            raise ValueError(f"stock_lengths_m: found {length_m!r}, expected lengths above 0.")
    fits = [
        (count, length_m)
        for length_m in stock_lengths_m
        if (count := sleeves_needed(needed_m, length_m, overlap_m)) is not None
        and count <= MOST_SLEEVES
    ]
    if not fits:
        raise ValueError(
            f"stock_lengths_m: {needed_m:g} m must be covered, and {MOST_SLEEVES} sleeves of the "
            f"longest in stock, {max(stock_lengths_m):g} m with {overlap_m:g} m overlap, do not."
        )
    return min(fits)
