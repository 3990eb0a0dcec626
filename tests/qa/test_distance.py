"""How far two places lie apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.distance import distance_m

LATITUDES, LONGITUDES = st.floats(-90, 90), st.floats(-180, 180)


@pytest.mark.parametrize(
    ("places", "metres"),
    [
        # A minute of arc along a meridian: the nautical mile, 1,852 m by definition.
        ((50.0, 8.0, 50.0 + 1 / 60, 8.0), 1852.0),
        # Along the 60th parallel a degree is half of one at the equator.
        ((60.0, 8.0, 60.0, 9.0), 111_195 / 2),
        # A quarter of a meridian: 10,000 km by the first definition of the metre.
        ((0.0, 0.0, 90.0, 0.0), 10_000_000),
        # Across the date line it is near.
        ((0.0, 179.9999, 0.0, -179.9999), 22.24),
        ((41.51, -93.62, 41.51, -93.62), 0.0),
    ],
)
def test_known_distances(places: tuple[float, float, float, float], metres: float) -> None:
    """Within the half per cent that a sphere is wrong by."""
    assert distance_m(*places) == pytest.approx(metres, rel=0.005, abs=0.01)


@given(a=LATITUDES, b=LONGITUDES, c=LATITUDES, d=LONGITUDES)
def test_there_and_back_are_the_same(a: float, b: float, c: float, d: float) -> None:
    """And no two places are further apart than half way round."""
    there = distance_m(a, b, c, d)

    assert there == pytest.approx(distance_m(c, d, a, b))
    assert 0 <= there < 20_016_000
