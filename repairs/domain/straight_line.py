"""How far apart two positions are, as the crow flies: a pipe is never much shorter."""

from math import asin, cos, hypot, radians, sin, sqrt

EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the Earth. Source: IUGG, from memory; the shape of the Earth adds 0.6 %."""
PIPE_SHARE = 1.10
PIPE_SLACK_M = 2.0
"""The straight line may exceed the pipe's length by this share and these metres: what hand-held
positions of two covers are off. Source: common practice, none published."""


def straight_line_m(
    latitude: float, longitude: float, other_latitude: float, other_longitude: float
) -> float:
    """Return the great-circle distance of two positions.

    Parameters
    ----------
    latitude, longitude, other_latitude, other_longitude
        Degrees, WGS 84.

    Returns
    -------
    float
        Metres on a sphere of the Earth's mean radius.

    Source
    ------
    The haversine formula.
    """
    north = sin(radians(other_latitude - latitude) / 2.0)
    east = sin(radians(other_longitude - longitude) / 2.0)
    breadth = sqrt(cos(radians(latitude)) * cos(radians(other_latitude)))
    return 2.0 * EARTH_RADIUS_M * asin(min(1.0, hypot(north, breadth * east)))


def too_far_apart(straight_m: float, pipe_m: float) -> bool:
    """Tell whether two ends lie too far apart for a pipe of this length.

    Limits
    ------
    A pipe may be longer than the straight line, in a bend; it is never much shorter.
    """
    return straight_m > pipe_m * PIPE_SHARE + PIPE_SLACK_M
