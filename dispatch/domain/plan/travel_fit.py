"""What observed drives say of the estimate's speed and minutes a trip; a hint, never a setting."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from math import asin, cos, radians, sin, sqrt
from statistics import median

from dispatch.domain.plan.travel import EARTH_RADIUS_M, Estimate, LatLon

LEAST_TRIPS = 20
"""Fewer drives suggest nothing; common practice, no source."""
MOST_TRIPS = 400
"""The newest are enough, and 400 have 79,800 pairs."""


@dataclass(frozen=True, slots=True)
class Trip:
    """One drive: the great circle between its ends, how long it took, when it ended."""

    great_circle_m: float
    seconds: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Fit:
    """What the drives suggest for an estimate.

    Parameters
    ----------
    trips : int
        Drives it rests on.
    trip_s : int
        Seconds of each trip whatever its length.
    speed_kmh : float
        At the detour factor that is set. Detour and speed cannot be told apart from times
        alone: only their ratio is seen.
    typical_error_s_set, typical_error_s_fitted : int
        The median of the absolute errors, of the estimate as it is set and as it would be.
    """

    trips: int
    trip_s: int
    speed_kmh: float
    typical_error_s_set: int
    typical_error_s_fitted: int


def fit(trips: Sequence[Trip], estimate: Estimate) -> Fit | None:
    """Return what the newest drives suggest; None where they are too few or too alike.

    Source
    ------
    The slope is the median of the slopes of all pairs (Theil 1950, Sen 1968), the seconds a
    trip the median of what is left: a lunch on the way moves neither.
    """
    newest = sorted(trips, key=lambda trip: trip.at)[-MOST_TRIPS:]
    if len(newest) < LEAST_TRIPS:
        return None
    slope = _slope(newest)
    if slope is None or slope <= 0:
        return None
    trip_s = max(0, round(median(t.seconds - slope * t.great_circle_m for t in newest)))
    speed_kmh = estimate.detour / slope * 3.6
    fitted = Estimate(estimate.detour, speed_kmh, trip_s)
    return Fit(
        len(newest),
        trip_s,
        speed_kmh,
        _typical_error_s(newest, estimate),
        _typical_error_s(newest, fitted),
    )


def great_circle_m(one: LatLon, other: LatLon) -> float:
    """Return the length of the great circle between two places, in metres."""
    lat_1, lat_2 = radians(one.lat_deg), radians(other.lat_deg)
    half_lat = sin((lat_2 - lat_1) / 2) ** 2
    half_lon = sin(radians(other.lon_deg - one.lon_deg) / 2) ** 2
    chord = half_lat + cos(lat_1) * cos(lat_2) * half_lon
    return 2 * EARTH_RADIUS_M * asin(sqrt(min(chord, 1.0)))


def _slope(trips: Sequence[Trip]) -> float | None:
    slopes = [
        (b.seconds - a.seconds) / (b.great_circle_m - a.great_circle_m)
        for a, b in combinations(trips, 2)
        if a.great_circle_m != b.great_circle_m
    ]
    return median(slopes) if slopes else None


def _typical_error_s(trips: Sequence[Trip], estimate: Estimate) -> int:
    per_m = estimate.detour / (estimate.speed_kmh / 3.6)
    return round(median(abs(t.seconds - t.great_circle_m * per_m - estimate.trip_s) for t in trips))
