"""Two positions are as far apart as the globe says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.straight_line import straight_line_m, too_far_apart

LATITUDES = st.floats(-90.0, 90.0)
LONGITUDES = st.floats(-180.0, 180.0)


@pytest.mark.parametrize(
    ("ends", "metres", "within"),
    [
        ((0.0, 0.0, 90.0, 0.0), 10_001_966.0, 0.006),  # WGS 84 meridian quadrant, from memory
        ((0.0, 0.0, 0.0, 90.0), 10_018_754.0, 0.006),  # a quarter of its equator, from memory
        ((0.0, 0.0, 1.0 / 60.0, 0.0), 1852.0, 0.006),  # the nautical mile, by its definition
        ((60.0, 0.0, 60.0, 1.0 / 60.0), 926.0, 0.006),  # half of it: cos 60 degrees
        ((0.0, 179.9, 0.0, -179.9), 22_264.0, 0.006),  # over the date line
        ((-90.0, 0.0, 90.0, 17.0), 20_003_932.0, 0.006),  # from pole to pole
        ((12.0, 34.0, 12.0, 34.0), 0.0, 0.0),
    ],
)
def test_the_distance_is_that_of_the_globe(
    ends: tuple[float, float, float, float], metres: float, within: float
) -> None:
    """The sphere stands for the Earth within 0.6 %."""
    assert straight_line_m(*ends) == pytest.approx(metres, rel=within, abs=1e-6)


@pytest.mark.parametrize(
    ("straight_m", "pipe_m", "too_far"),
    [
        (46.0, 40.0, False),  # just 10 % and 2 m more
        (46.1, 40.0, True),
        (10.0, 40.0, False),  # a pipe in a bend
        (2.5, 0.5, False),  # two covers side by side, positions off by a metre or two
    ],
)
def test_a_pipe_is_not_much_shorter_than_the_straight_line(
    straight_m: float, pipe_m: float, too_far: bool
) -> None:
    """Ten per cent and two metres are allowed for the positions."""
    assert too_far_apart(straight_m, pipe_m) is too_far


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_the_way_back_is_as_long(a: float, b: float, c: float, d: float) -> None:
    """From either end the distance is the same, and never more than half round the Earth."""
    there, back = straight_line_m(a, b, c, d), straight_line_m(c, d, a, b)

    assert there == pytest.approx(back, abs=1e-6)
    assert 0.0 <= there <= 20_015_200.0
