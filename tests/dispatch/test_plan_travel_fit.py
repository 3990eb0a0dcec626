"""What drives say of speed and minutes a trip."""

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from dispatch.domain.plan.travel import Estimate, LatLon
from dispatch.domain.plan.travel_fit import LEAST_TRIPS, Trip, fit, great_circle_m

NOW = datetime(2026, 11, 27, tzinfo=UTC)
SET = Estimate(detour=1.35, speed_kmh=42.0, trip_s=120)


def trips(metres: Any, seconds: Any) -> list[Trip]:
    """Return drives, an hour apart."""
    return [
        Trip(float(m), float(s), NOW + timedelta(hours=n))
        for n, (m, s) in enumerate(zip(metres, seconds, strict=True))
    ]


def test_a_published_great_circle() -> None:
    """Rosetta Code, 'Haversine formula': 2886.444442838 km on a sphere of 6371.0 km.

    Our radius is the mean one of IUGG, 6371.0088 km.
    """
    found = great_circle_m(LatLon(36.12, -86.67), LatLon(33.94, -118.40))

    assert found == pytest.approx(2_886_444.442838 * 6371.0088 / 6371.0, abs=0.01)


places = st.builds(LatLon, st.floats(-90, 90), st.floats(-180, 180))


@given(places, places)
def test_the_estimate_measures_the_same_circle(one: LatLon, other: LatLon) -> None:
    """Whether one pair is asked or a whole table."""
    table = Estimate(detour=1.0).travel([one, other])

    assert table.metres[0][1] == pytest.approx(great_circle_m(one, other), abs=0.51)


def distinct(low: int, high: int) -> Any:
    """Return as many different whole numbers as make a fit."""
    return st.lists(st.integers(low, high), min_size=20, max_size=20, unique=True)


@given(distinct(500, 40_000), distinct(60, 7200))
def test_the_slope_is_scipys(metres: list[int], seconds: list[int]) -> None:
    """Theil and Sen: the median of the slopes of all pairs, as SciPy has it."""
    slope = theilslopes(seconds, metres).slope

    found = fit(trips(metres, seconds), SET)

    assert (found is None) == (slope <= 0)
    if found is not None:
        assert found.speed_kmh == pytest.approx(1.35 / slope * 3.6)


def test_drives_of_one_length_tell_no_speed() -> None:
    """Twenty times the same street."""
    assert fit(trips([5000] * 20, range(600, 620)), SET) is None


def test_a_lunch_on_the_way_moves_nothing() -> None:
    """Drives at 30 km/h with 5 min to park; each sixth crew ate first."""
    metres = np.linspace(1000, 20_000, 60)
    seconds = metres * 1.35 / (30 / 3.6) + 300
    seconds[::6] += 2700

    found = fit(trips(metres, seconds), SET)

    assert found is not None
    assert (found.trips, found.trip_s) == (60, 300)
    assert found.speed_kmh == pytest.approx(30, rel=0.01)
    assert found.typical_error_s_fitted < 5
    assert found.typical_error_s_set > 400


def test_a_trip_never_costs_less_than_nothing() -> None:
    """Drives that seem to begin before they begin."""
    metres = np.linspace(2000, 20_000, 20)

    found = fit(trips(metres, metres / 10 - 60), SET)

    assert found is not None
    assert found.trip_s == 0


def test_few_drives_suggest_nothing() -> None:
    """One fewer than twenty."""
    metres = np.linspace(1000, 20_000, LEAST_TRIPS)

    assert fit(trips(metres, metres / 10), SET) is not None
    assert fit(trips(metres, metres / 10)[1:], SET) is None


def test_the_newest_drives_count() -> None:
    """Four hundred drives at 36 km/h; those before the new road are forgotten."""
    metres = np.tile(np.linspace(1000, 20_000, 50), 16)
    slow, fast = metres[:400] * 0.3, metres[400:] * 0.135

    found = fit(trips(metres, np.concatenate([slow, fast])), SET)

    assert found is not None
    assert (found.trips, round(found.speed_kmh, 6)) == (400, 36.0)
