"""How much of a chart's time a changing temperature has used up.

Additivity: each short time uses ``dt / t_chart(T)``; at 1 the chart's whole time is
used. Every interval is split where the temperature crosses a row of the chart, so that
the four Gauss points always see a smooth rate, also at the chart's cold edge.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from repairs.domain.chart import Chart, ChartRule, minutes_at, rate_per_min

_OUTER, _INNER = (
    math.sqrt(3 / 7 + 2 / 7 * math.sqrt(6 / 5)),
    math.sqrt(3 / 7 - 2 / 7 * math.sqrt(6 / 5)),
)
_GAUSS_AT = np.array([(1.0 + x) / 2.0 for x in (-_OUTER, -_INNER, _INNER, _OUTER)])
_GAUSS_WEIGHT = np.array(
    [(18.0 + sign * math.sqrt(30.0)) / 72.0 for sign in (-1.0, 1.0, 1.0, -1.0)]
)
"""Four-point Gauss-Legendre rule on 0..1. Source: any handbook of numerical methods."""

_NEWTON_STEPS = 60
_NEWTON_TOLERANCE = 1e-13


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A temperature that is a straight line in each interval, with jumps allowed between.

    Parameters
    ----------
    minutes
        The n + 1 edges, never falling.
    start_c, end_c
        The n temperatures at the start and at the end of each interval; NaN in both
        where none is known, which uses nothing.
    """

    minutes: NDArray[np.float64]
    start_c: NDArray[np.float64]
    end_c: NDArray[np.float64]


def line_profile(minutes: NDArray[np.float64], temperature_c: NDArray[np.float64]) -> Profile:
    """Join readings by straight lines."""
    return Profile(minutes, temperature_c[:-1], temperature_c[1:])


def colder_end_profile(minutes: NDArray[np.float64], temperature_c: NDArray[np.float64]) -> Profile:
    """Let each interval have the temperature of its colder end: a proved lower bound.

    It costs about 4 % of dose for each degree of change between two readings, so a log
    should have one at least every 5 min.
    """
    colder_c = np.minimum(temperature_c[:-1], temperature_c[1:])
    return Profile(minutes, colder_c, colder_c)


def dose(
    chart: Chart,
    minutes: NDArray[np.float64],
    temperature_c: NDArray[np.float64],
    rule: ChartRule = ChartRule.ARRHENIUS,
) -> float:
    """Return the share of the chart's time used by readings joined by straight lines.

    Parameters
    ----------
    chart
        The maker's chart.
    minutes
        Times of the readings, never falling.
    temperature_c
        Temperatures at those times.
    rule
        How to read the chart between rows.

    Returns
    -------
    float
        0 at the start, 1 when the chart's whole time is used; it goes on above 1.

    Raises
    ------
    ValueError
        When the two columns differ in length or the times fall.

    Source
    ------
    Additivity (equivalent age), as in ASTM C1074 and c6_piecewise of the check values.

    Limits
    ------
    Exact when the resin's rate is one function of temperature times one of conversion;
    a resin with two activation energies was up to 5 % off in synthetic trials.
    """
    _refuse_columns(minutes, temperature_c)
    return float(interval_doses(chart, line_profile(minutes, temperature_c), rule).sum())


def colder_end_dose(
    chart: Chart,
    minutes: NDArray[np.float64],
    temperature_c: NDArray[np.float64],
    rule: ChartRule = ChartRule.ARRHENIUS,
) -> float:
    """Return a dose that is never more than the true one: each interval at its colder end.

    Parameters, Raises and Source are those of `dose`. The trapezoid rule would be
    wrong here: the rate is convex, so it gives too much.
    """
    _refuse_columns(minutes, temperature_c)
    return float(interval_doses(chart, colder_end_profile(minutes, temperature_c), rule).sum())


def interval_doses(chart: Chart, profile: Profile, rule: ChartRule) -> NDArray[np.float64]:
    """Return the dose of each interval of `profile`, split at the chart's rows."""
    fine, parent = _split_at_rows(chart, profile)
    doses = _piece_doses(chart, fine, rule)
    total = np.bincount(parent, weights=doses, minlength=profile.start_c.size)
    return np.asarray(total, dtype=np.float64)


def minute_at_dose(chart: Chart, profile: Profile, rule: ChartRule, target: float) -> float | None:
    """Return when `profile` has used `target`, or None when it never does.

    Parameters
    ----------
    chart, rule
        How temperature ages the resin.
    profile
        The temperature.
    target
        The dose asked for, above 0.

    Returns
    -------
    float or None
        The earliest minute at which the dose is reached.
    """
    fine, _ = _split_at_rows(chart, profile)
    total = np.cumsum(_piece_doses(chart, fine, rule))
    # One part in 1e13: a sum of many doses may miss a round target by rounding alone.
    index = int(np.searchsorted(total, target * (1.0 - _NEWTON_TOLERANCE)))
    if index == total.size:
        return None
    wanted = target - (float(total[index - 1]) if index else 0.0)
    length = float(fine.minutes[index + 1] - fine.minutes[index])
    ends_c = float(fine.start_c[index]), float(fine.end_c[index])
    share = _share_of_interval(chart, rule, wanted / length, *ends_c)
    return float(fine.minutes[index]) + share * length


def _piece_doses(chart: Chart, fine: Profile, rule: ChartRule) -> NDArray[np.float64]:
    """Integrate pieces that cross no row of the chart, by four Gauss points each."""
    at_c = fine.start_c[:, None] + np.outer(fine.end_c - fine.start_c, _GAUSS_AT)
    mean_rate = rate_per_min(chart, at_c, rule) @ _GAUSS_WEIGHT
    return np.asarray(np.diff(fine.minutes) * mean_rate, dtype=np.float64)


def _share_of_interval(
    chart: Chart, rule: ChartRule, wanted_per_min: float, start_c: float, end_c: float
) -> float:
    """Solve, by Newton, for the share of one interval that gives a mean rate of `wanted`."""
    share = 1.0
    for _ in range(_NEWTON_STEPS):
        here_c = start_c + share * (end_c - start_c)
        used = share * _mean_rate(chart, rule, start_c, here_c)
        step = (used - wanted_per_min) / _rate(chart, rule, here_c)
        share = min(1.0, max(0.0, share - step))
        if abs(step) < _NEWTON_TOLERANCE:
            break
    return share


def _mean_rate(chart: Chart, rule: ChartRule, start_c: float, end_c: float) -> float:
    return sum(
        float(weight) * _rate(chart, rule, start_c + float(at) * (end_c - start_c))
        for at, weight in zip(_GAUSS_AT, _GAUSS_WEIGHT, strict=True)
    )


def _rate(chart: Chart, rule: ChartRule, temperature_c: float) -> float:
    # Newton may touch the cold edge from inside by rounding; the edge itself counts.
    minutes = minutes_at(chart, max(temperature_c, chart.coldest_c), rule)
    return 0.0 if minutes is None else 1.0 / minutes


def _split_at_rows(chart: Chart, profile: Profile) -> tuple[Profile, NDArray[np.intp]]:
    """Cut each interval where it crosses a row of the chart; say whence each piece came."""
    rows_c = np.array([row.temperature_c for row in chart.rows])
    low_c = np.minimum(profile.start_c, profile.end_c)
    high_c = np.maximum(profile.start_c, profile.end_c)
    first = np.searchsorted(rows_c, low_c, side="right")
    crossed = np.maximum(np.searchsorted(rows_c, high_c, side="left") - first, 0)
    whole = np.arange(low_c.size)
    if not crossed.any():
        return profile, whole
    owner = np.repeat(whole, crossed)
    within = np.arange(owner.size) - np.repeat(np.cumsum(crossed) - crossed, crossed)
    cut_c = rows_c[first[owner] + within]
    share = (cut_c - profile.start_c[owner]) / (profile.end_c[owner] - profile.start_c[owner])
    start_min, end_min = profile.minutes[owner], profile.minutes[owner + 1]
    cut_min = start_min + share * (end_min - start_min)
    parent = np.concatenate([whole, owner])
    begin_min = np.concatenate([profile.minutes[:-1], cut_min])
    begin_c = np.concatenate([profile.start_c, cut_c])
    order = np.lexsort((np.concatenate([np.zeros(whole.size), share]), parent))
    parent, begin_min, begin_c = parent[order], begin_min[order], begin_c[order]
    last_piece = np.append(parent[1:] != parent[:-1], np.True_)
    stop_c = np.where(last_piece, profile.end_c[parent], np.append(begin_c[1:], 0.0))
    return Profile(np.append(begin_min, profile.minutes[-1]), begin_c, stop_c), parent


def _refuse_columns(minutes: NDArray[np.float64], temperature_c: NDArray[np.float64]) -> None:
    if minutes.shape != temperature_c.shape or minutes.ndim != 1 or minutes.size == 0:
        raise ValueError(
            f"minutes, temperature_c: found shapes {minutes.shape} and {temperature_c.shape}, "
            "expected two columns of one length."
        )
    if np.any(np.diff(minutes) < 0.0):
        raise ValueError("minutes: found a time before the one above it, expected rising times.")
