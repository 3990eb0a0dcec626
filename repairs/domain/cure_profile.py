"""The temperature a cure is reckoned with: once as measured, once on the cold side.

The best profile joins readings by straight lines, a running median having taken out
single spikes. The late profile is never warmer than the truth can be: the colder of
reading and median, the colder end of each interval, the sensor's tolerance taken off,
and nothing at all where readings are too far apart.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from repairs.domain.chart import Chart
from repairs.domain.dose import Profile, line_profile
from repairs.domain.static_time import StaticTime, static_time
from repairs.domain.temperature_log import (
    DECLARED_DIFFERS_K,
    FAR_FROM_DECLARED_K,
    CleanLog,
    has_spike,
    running_median,
)


@dataclass(frozen=True, slots=True)
class ColdSide:
    """What makes a measured temperature safe for cure."""

    declared_c: float | None
    tolerance_k: float
    longest_gap_min: float


@dataclass(frozen=True, slots=True, eq=False)
class CureProfile:
    """Temperatures from the clock's start until now, and what is taken to follow.

    Parameters
    ----------
    best, late
        Measured, and on the cold side; NaN in `late` where no credit is given.
    future_best_c, future_late_c
        What is assumed from now on: the last temperature holds; for the late bound the
        colder of it and the declared one, less the tolerance.
    static
        Where the maker's chart itself is read, and from which minute it counts.
    flags
        Codes of `repairs.domain.temperature_log.FLAG_WORDS`.
    """

    best: Profile
    late: Profile
    future_best_c: float
    future_late_c: float
    static: StaticTime
    flags: tuple[str, ...]


def cure_profile(
    log: CleanLog, elapsed_min: float, side: ColdSide, chart: Chart
) -> CureProfile | None:
    """Lay the readings out from the clock's start until now.

    Parameters
    ----------
    log
        Clean readings, minute 0 being the clock's start, the coldest kept.
    elapsed_min
        Minutes from the clock's start until now, >= 0.
    side
        Declared temperature, tolerance and longest gap.
    chart
        For the flags above and below it.

    Returns
    -------
    CureProfile or None
        None when neither a reading nor a declared temperature is known.
    """
    minutes, raw_c = _since_start(log, side.longest_gap_min)
    if minutes.size:
        known = _from_log(minutes, raw_c, elapsed_min, side, chart)
    elif side.declared_c is not None:
        known = _from_declared(elapsed_min, side.declared_c, side.tolerance_k, chart)
    else:
        return None
    flags = (*log.flags, *known.flags, *_chart_flags(known, chart))
    return replace(known, flags=flags)


def _since_start(
    log: CleanLog, longest_gap_min: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Keep readings after the start, and the last one before it where it is near enough."""
    first = max(int(np.searchsorted(log.minutes, 0.0, side="right")) - 1, 0)
    minutes, raw_c = log.minutes[first:], log.temperature_c[first:]
    if minutes.size > 1 and minutes[0] < 0.0 and minutes[1] - minutes[0] > longest_gap_min:
        return minutes[1:], raw_c[1:]
    return minutes, raw_c


def _from_log(
    minutes: NDArray[np.float64],
    raw_c: NDArray[np.float64],
    elapsed_min: float,
    side: ColdSide,
    chart: Chart,
) -> CureProfile:
    middle_c = running_median(raw_c)
    cold_c = np.minimum(raw_c, middle_c)
    best_c = middle_c.copy()
    # At both ends the median looks one way only: the colder of the two is taken.
    best_c[[0, -1]] = cold_c[[0, -1]]
    begin_c = float(np.interp(0.0, minutes, best_c))
    best_c[0] = begin_c if minutes[0] < 0.0 else best_c[0]
    edges = np.concatenate([[0.0], np.maximum(minutes, 0.0), [elapsed_min]])
    spacing = np.concatenate([[minutes[0]], np.diff(minutes), [elapsed_min - minutes[-1]]])
    declared_c = np.inf if side.declared_c is None else side.declared_c
    last_c = min(float(cold_c[-1]), declared_c)
    late_c = np.concatenate(
        [[min(cold_c[0], declared_c)], np.minimum(cold_c[:-1], cold_c[1:]), [last_c]]
    )
    gap = spacing > side.longest_gap_min
    late_c = np.where(gap, np.nan, late_c - side.tolerance_k)
    wall_c = np.concatenate([[begin_c], best_c, best_c[-1:]])
    cold_wall_c = np.minimum(wall_c, np.concatenate([cold_c[:1], cold_c, cold_c[-1:]]))
    return CureProfile(
        best=line_profile(edges, wall_c),
        late=Profile(edges, late_c, late_c),
        future_best_c=float(best_c[-1]),
        future_late_c=last_c - side.tolerance_k,
        # A cold reading is never dismissed as a spike: the median only takes out warm ones.
        static=static_time(edges, cold_wall_c, side.declared_c, chart),
        flags=_log_flags(raw_c, has_gap=bool(gap.any()), declared_c=side.declared_c),
    )


def _log_flags(
    raw_c: NDArray[np.float64], *, has_gap: bool, declared_c: float | None
) -> tuple[str, ...]:
    differs = declared_c is not None and (
        abs(float(raw_c[0]) - declared_c) > DECLARED_DIFFERS_K
        or float(np.max(np.abs(raw_c - declared_c))) > FAR_FROM_DECLARED_K
    )
    found = {
        "gap": has_gap,
        "spike": has_spike(raw_c),
        "wall_not_declared": declared_c is None,
        "declared_differs": differs,
    }
    return tuple(code for code, is_so in found.items() if is_so)


def _from_declared(
    elapsed_min: float, declared_c: float, tolerance_k: float, chart: Chart
) -> CureProfile:
    edges = np.array([0.0, elapsed_min])
    constant_c, cold_c = np.array([declared_c]), np.array([declared_c - tolerance_k])
    wall_c = np.array([declared_c, declared_c])
    return CureProfile(
        best=Profile(edges, constant_c, constant_c),
        late=Profile(edges, cold_c, cold_c),
        future_best_c=declared_c,
        future_late_c=declared_c - tolerance_k,
        static=static_time(edges, wall_c, declared_c, chart),
        flags=("declared_only",),
    )


def _chart_flags(known: CureProfile, chart: Chart) -> tuple[str, ...]:
    coldest_c = np.append(known.late.start_c, [known.future_late_c, known.static.temperature_c])
    warmest_c = np.append(known.best.start_c, known.future_best_c)
    below = ("below_chart",) if np.any(coldest_c < chart.coldest_c) else ()
    above = ("above_chart",) if np.any(warmest_c > chart.hottest_c) else ()
    return (*below, *above)
