"""What a plan costs: one set of prices, shown to the dispatcher, in seconds of driving."""

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

_MIN = 60


class Priority(StrEnum):
    """How much it matters that a repair is done within the horizon; A first."""

    A = "A"
    B = "B"
    C = "C"


@dataclass(frozen=True, slots=True)
class Weights:
    """Prices, each in seconds of driving, so that one unit fits all.

    Parameters
    ----------
    pinned_s : int
        Leaving out a repair that the dispatcher pinned to a crew or a day.
    a_s, b_s, c_s : int
        Leaving out a repair of that priority.
    late_day_s : int
        Each whole day after the due day; a repair left out counts as done the day
        after the horizon, so that late is always better than not at all.
    overtime_times : int
        What a second of overtime costs, in seconds of driving.
    change_s : int
        Another crew, or another day, than was promised: once for each of the two. At an hour
        a plan is calmer by a repair or two in fifty and dearer by a tenth (docs/planning.md).

    Raises
    ------
    ValueError
        When the order pinned > A > B > C > late day is broken: the words say where.

    Notes
    -----
    Starting values, common practice, no source. Not steeper than needed: a price
    thousands of times another one slows the search down.
    """

    pinned_s: int = 30_000 * _MIN
    a_s: int = 10_000 * _MIN
    b_s: int = 1_500 * _MIN
    c_s: int = 600 * _MIN
    late_day_s: int = 144 * _MIN
    overtime_times: int = 2
    change_s: int = 20 * _MIN

    def __post_init__(self) -> None:
        steps = ("pinned_s", "a_s", "b_s", "c_s", "late_day_s")
        for dearer, cheaper in pairwise(steps):
            if getattr(self, dearer) <= getattr(self, cheaper):
                raise ValueError(f"{dearer} must be more than {cheaper}, or priority means nothing")
        if self.late_day_s < 0 or self.overtime_times < 0 or self.change_s < 0:
            raise ValueError("late_day_s, overtime_times and change_s may not be below 0")

    def left_out_s(self, priority: Priority, *, pinned: bool) -> int:
        """Return the price of leaving a repair out, without its lateness."""
        if pinned:
            return self.pinned_s
        return {Priority.A: self.a_s, Priority.B: self.b_s, Priority.C: self.c_s}[priority]
