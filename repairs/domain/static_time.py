"""Where the maker's chart itself is read for a wall that was not at one temperature.

The dose estimates a cure; the chart releases it. A row of the chart is earned by
having been at or above its temperature for its whole time, however warm somebody said
the wall would be; what came before counts as nothing then.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from repairs.domain.chart import Chart, ChartRow


@dataclass(frozen=True, slots=True)
class StaticTime:
    """The row by which the chart releases first.

    Parameters
    ----------
    temperature_c
        The coldest temperature, declared or measured, since `from_min`.
    from_min
        Minutes after the clock's start from which the row's time counts.
    minutes
        The row's own time; None where the wall is below the chart now.
    """

    temperature_c: float
    from_min: float
    minutes: float | None


def static_time(
    edges_min: NDArray[np.float64],
    wall_c: NDArray[np.float64],
    declared_c: float | None,
    chart: Chart,
) -> StaticTime:
    """Find the row by which the chart's own time is over first.

    Parameters
    ----------
    edges_min
        Minutes after the clock's start, rising, at least two; the last one is now.
    wall_c
        The wall's temperature at each edge, spikes taken out; the last one is taken
        to hold from now on.
    declared_c
        What was declared before, or None; no row above it is used.
    chart
        The maker's chart.

    Returns
    -------
    StaticTime
        The row, and from when it counts. A warmer wall never makes it later, and what
        the wall does after a row was earned changes nothing any more.

    Source
    ------
    This project's rule: a computed time never shortens the maker's chart.

    Limits
    ------
    Knows the wall only where and when it was measured.
    """
    declared = np.inf if declared_c is None else declared_c
    coldest_c = np.minimum(np.minimum(wall_c[:-1], wall_c[1:]), declared)
    earned = [
        (start + row.minutes, start, row)
        for row in chart.rows
        if (start := _earned_from(edges_min, coldest_c, row)) is not None
    ]
    if not earned:
        return StaticTime(float(coldest_c[-1]), float(edges_min[-1]), None)
    end, start, row = min(earned, key=lambda each: each[0])
    during = (edges_min[1:] > start) & (edges_min[:-1] < end)
    governing = coldest_c[during] if during.any() else coldest_c[-1:]
    return StaticTime(float(np.min(governing)), start, row.minutes)


def _earned_from(
    edges_min: NDArray[np.float64], coldest_c: NDArray[np.float64], row: ChartRow
) -> float | None:
    """Return from when the row counts: the first stretch long enough, or the present one."""
    warm = np.concatenate([[False], coldest_c >= row.temperature_c, [False]]).astype(np.int8)
    steps = np.diff(warm)
    starts = edges_min[np.flatnonzero(steps == 1)]
    ends = edges_min[np.flatnonzero(steps == -1)]
    if not starts.size:
        return None
    long_enough = np.flatnonzero(starts + row.minutes <= ends)
    if long_enough.size:
        return float(starts[long_enough[0]])
    return float(starts[-1]) if coldest_c[-1] >= row.temperature_c else None
