"""The temperature a working time is reckoned with: as measured, on the hot and the cold side.

The mirror of the cure's profile: hotter is worse, so the hot side takes the warmer of
reading and median, the warmer end of each interval, and the tolerance on top.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from repairs.domain.chart import Chart
from repairs.domain.dose import Profile
from repairs.domain.temperature_log import CleanLog, has_spike, running_median


@dataclass(frozen=True, slots=True)
class HotSide:
    """What makes a measured temperature safe for the working time."""

    has_declared: bool
    tolerance_k: float
    longest_gap_min: float


@dataclass(frozen=True, slots=True, eq=False)
class WorkingProfile:
    """Hot, best and cold temperatures until now, what follows, and what was amiss.

    Parameters
    ----------
    hot, best, cold
        Temperatures from the clock's start until now; NaN in `cold` across a gap.
    future_hot_c, future_best_c
        What is taken to hold from now on.
    flags
        Codes of `repairs.domain.temperature_log.FLAG_WORDS`.
    """

    hot: Profile
    best: Profile
    cold: Profile
    future_hot_c: float
    future_best_c: float
    flags: tuple[str, ...]


def working_profile(
    hot: CleanLog, cold: CleanLog, elapsed_min: float, side: HotSide, chart: Chart
) -> WorkingProfile:
    """Lay the readings out from the clock's start until now.

    Parameters
    ----------
    hot, cold
        The same readings from minute 0 on, cleaned keeping the hottest and the coldest
        of a stamp; at least one.
    elapsed_min
        Minutes from the clock's start until now, >= 0.
    side
        Tolerance, longest gap, and whether the first reading is the declared one.
    chart
        For the flags above and below it.
    """
    middle_c = running_median(hot.temperature_c)
    hot_c = np.maximum(hot.temperature_c, middle_c) + side.tolerance_k
    cold_c = np.minimum(cold.temperature_c, running_median(cold.temperature_c)) - side.tolerance_k
    edges = np.concatenate([[0.0], hot.minutes, [elapsed_min]])
    # A declared temperature alone is a statement about the whole batch, not a log with gaps.
    declared_only = side.has_declared and hot.minutes.size == 1
    gap = (np.diff(edges) > side.longest_gap_min) & (not declared_only)
    # Across a gap the cold side gets nothing: it must stay a lower bound.
    low_c = np.where(gap, np.nan, _ends(cold_c, np.minimum))
    high_c = _ends(hot_c, np.maximum)
    best_c = np.concatenate([middle_c[:1], middle_c, middle_c[-1:]])
    found = {
        "gap": bool(gap.any()),
        "above_chart": bool(np.any(hot_c > chart.hottest_c)),
        "below_chart": bool(np.any(cold_c < chart.coldest_c)),
        "spike": has_spike(hot.temperature_c),
        "declared_only": declared_only,
    }
    return WorkingProfile(
        hot=Profile(edges, high_c, high_c),
        best=Profile(edges, best_c[:-1], best_c[1:]),
        cold=Profile(edges, low_c, low_c),
        future_hot_c=float(hot_c[-1]),
        future_best_c=float(middle_c[-1]),
        flags=(*hot.flags, *(code for code, is_so in found.items() if is_so)),
    )


def lifted(profile: Profile, coldest_c: float) -> Profile:
    """Give no credit for cold below the chart: the coldest row is the slowest known."""
    start_c, end_c = (np.maximum(side, coldest_c) for side in (profile.start_c, profile.end_c))
    return Profile(profile.minutes, start_c, end_c)


def _ends(temperature_c: NDArray[np.float64], pick: np.ufunc) -> NDArray[np.float64]:
    """Give each interval one of its two ends, with the first and last held outward."""
    between = pick(temperature_c[:-1], temperature_c[1:])
    return np.concatenate([temperature_c[:1], between, temperature_c[-1:]])
