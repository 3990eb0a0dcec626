"""The ways between places: by the sphere, by a table, and marked for what they are."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.travel import (
    ESTIMATED,
    ROAD,
    Estimate,
    LatLon,
    Table,
    Way,
)

EQUATOR, NORTH = LatLon(0, 0), LatLon(1, 0)
STRAIGHT = Estimate(detour=1.0, speed_kmh=36.0, trip_s=0)


def test_a_degree_of_latitude() -> None:
    """Pi/180 of the mean radius 6371.0088 km (IUGG 1980) is 111.195 km; at 10 m/s 11,120 s."""
    found = STRAIGHT.travel([EQUATOR, NORTH])

    assert found.metres[0][1] == pytest.approx(111_195, abs=1)
    assert found.seconds[0][1] == 11_120
    assert found.word == ESTIMATED


def test_half_round_the_earth_is_still_a_number() -> None:
    """Rounding may not take the arc sine out of its range."""
    assert STRAIGHT.travel([LatLon(90, 0), LatLon(-90, 0)]).metres[0][1] == 20_015_114


def test_the_detour_and_the_minutes_of_a_trip() -> None:
    """A third longer than the bird, and two minutes to park; nothing to stay where one is."""
    found = Estimate(detour=4 / 3, speed_kmh=36.0, trip_s=120).travel([EQUATOR, NORTH, EQUATOR])

    assert found.seconds[0] == (0, 14_946, 0)


coordinates = st.builds(LatLon, st.floats(-80, 80), st.floats(-179, 179))


@given(st.lists(coordinates, min_size=1, max_size=6))
def test_an_estimate_is_the_same_both_ways_and_never_negative(places: list[LatLon]) -> None:
    """And nobody needs time to stay."""
    found = Estimate().travel(places)

    for i in range(len(places)):
        assert found.seconds[i][i] == 0
        for j in range(len(places)):
            assert found.seconds[i][j] == found.seconds[j][i] >= 0


def test_a_known_way_goes_over_the_estimate_and_the_gap_stays_marked() -> None:
    """The bridge is known one way; the way back is estimated as before."""
    table = Table({(EQUATOR, NORTH): Way(900, 12_000)}, STRAIGHT)

    found = table.travel([LatLon(0.00001, 0), NORTH])  # a metre beside: the same place

    assert (found.seconds[0][1], found.metres[0][1], found.source[0][1]) == (900, 12_000, ROAD)
    assert (found.seconds[1][0], found.source[1][0]) == (11_119, ESTIMATED)
    assert found.word == ESTIMATED


def test_when_every_way_is_known_the_word_is_road() -> None:
    """There and back."""
    ways = {(EQUATOR, NORTH): Way(900, 1), (NORTH, EQUATOR): Way(910, 1)}

    assert Table(ways, STRAIGHT).travel([EQUATOR, NORTH]).word == ROAD


def test_round_the_corner_of_a_known_place_nothing_is_unknown() -> None:
    """Two access points five metres apart are one place of the table, if it knows the place."""
    ways = {(EQUATOR, NORTH): Way(900, 1), (NORTH, EQUATOR): Way(910, 1)}
    corner = LatLon(0.00004, 0)

    assert Table(ways, STRAIGHT).travel([EQUATOR, corner, NORTH]).word == ROAD
    assert Table({}, STRAIGHT).travel([EQUATOR, corner]).word == ESTIMATED
