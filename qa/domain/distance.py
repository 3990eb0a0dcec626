"""How far two places on Earth lie apart."""

from math import asin, cos, radians, sin, sqrt

EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the Earth (IUGG); a sphere is wrong by at most 0.6 %. From memory."""


def distance_m(
    latitude: float, longitude: float, other_latitude: float, other_longitude: float
) -> float:
    """Return the great-circle distance between two places in WGS 84 degrees, in metres.

    By the haversine formula: exact on a sphere, and steady for places close together.
    """
    one, other = radians(latitude), radians(other_latitude)
    north = sin((other - one) / 2)
    east = sin(radians(other_longitude - longitude) / 2)
    half = north * north + cos(one) * cos(other) * east * east
    return 2 * EARTH_RADIUS_M * asin(sqrt(min(1.0, half)))
