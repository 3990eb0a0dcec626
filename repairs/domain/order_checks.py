"""What must hold between the values of an order, whether it comes in or is corrected."""

from collections.abc import Iterable
from datetime import date, datetime

from repairs.domain.problem import Fault
from repairs.domain.straight_line import PIPE_SHARE, PIPE_SLACK_M, too_far_apart
from repairs.domain.units import Dimension, words


def datum_fault(field: str, datum: str, ends: tuple[str, str]) -> Fault | None:
    """Return what is wrong with a datum that is no end of the run."""
    if datum in ends:
        return None
    return Fault(field, datum, f"{ends[0]} or {ends[1]}, the ends of the run")


def distance_fault(field: str, distance_m: float, length_m: float) -> Fault | None:
    """Return what is wrong with a defect beyond the end of its run."""
    if distance_m <= length_m:
        return None
    return Fault(field, _both(distance_m), f"at most the run's length, {_both(length_m)}")


def length_fault(field: str, length_m: float, straight_m: float) -> Fault | None:
    """Return what is wrong with a pipe much shorter than the straight line between its ends."""
    if not too_far_apart(straight_m, length_m):
        return None
    return Fault(
        field,
        f"{_both(length_m)}, and {words(straight_m, Dimension.LENGTH, 0)} in a straight line "
        "between the two positions",
        f"a straight line of at most the pipe's length, {PIPE_SHARE - 1:.0%} and "
        f"{PIPE_SLACK_M:g} m more: is a position wrong, or the length?",
    )


def window_fault(not_before: datetime | None, not_after: datetime | None) -> Fault | None:
    """Return what is wrong with a window that ends before it begins."""
    if not_before is None or not_after is None or not_before < not_after:
        return None
    return Fault(
        "not_after", not_after.isoformat(), f"a time after not_before, {not_before.isoformat()}"
    )


def filmed_fault(field: str, filmed_on: date | None, today: date) -> Fault | None:
    """Return what is wrong with an inspection that has not happened yet.

    Parameters
    ----------
    today
        The latest day it is anywhere on Earth.
    """
    if filmed_on is None or filmed_on <= today:
        return None
    return Fault(field, filmed_on.isoformat(), "a day that is not in the future")


def _both(length_m: float) -> str:
    """Say a length as any of the columns might have: the file may be in feet."""
    return words(length_m, Dimension.LENGTH, 2)


def told(faults: Iterable[Fault | None]) -> tuple[Fault, ...]:
    """Keep the faults there are."""
    return tuple(fault for fault in faults if fault is not None)
