"""How long it is from place to place, and how that is known: estimated, or by road."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

ESTIMATED = "estimated"
ROAD = "road"
LONGEST_S = 10**6
"""A longer way is not a way; whoever gives one gave a wrong unit."""
EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of IUGG 1980."""


@dataclass(frozen=True, slots=True)
class LatLon:
    """A place on the ground, WGS 84 degrees."""

    lat_deg: float
    lon_deg: float


@dataclass(frozen=True, slots=True)
class Way:
    """One way between two places, as somebody measured or knows it."""

    seconds: int
    metres: int


@dataclass(frozen=True, slots=True)
class Travel:
    """Whole seconds and metres from each place to each, with the word for how they are known."""

    seconds: tuple[tuple[int, ...], ...]
    metres: tuple[tuple[int, ...], ...]
    source: tuple[tuple[str, ...], ...]

    @property
    def places(self) -> int:
        """Return how many places there are."""
        return len(self.seconds)

    @property
    def word(self) -> str:
        """Return 'road' when every way is known by road, else 'estimated'."""
        known = all(
            word == ROAD
            for i, row in enumerate(self.source)
            for j, word in enumerate(row)
            if i != j
        )
        return ROAD if known else ESTIMATED


class TravelSource(Protocol):
    """Whoever can tell the ways between places: an estimate, a table, later a service."""

    def travel(self, places: Sequence[LatLon]) -> Travel:
        """Return the ways between all places, in their order."""
        ...


@dataclass(frozen=True, slots=True)
class Estimate:
    """The great circle, longer by a detour factor, at one speed, plus minutes for each trip.

    The three constants are assumptions (from memory, no source), to be set for each region
    and fitted to the posted times of departure and arrival.
    """

    detour: float = 1.35
    speed_kmh: float = 42.0
    trip_s: int = 120

    def travel(self, places: Sequence[LatLon]) -> Travel:
        """Return the estimated ways; a place to itself, or to its twin, is 0."""
        degrees = np.array([(p.lat_deg, p.lon_deg) for p in places], dtype=float).reshape(-1, 2)
        lat, lon = np.radians(degrees[:, 0]), np.radians(degrees[:, 1])
        half_lat = np.sin((lat[:, None] - lat[None, :]) / 2) ** 2
        half_lon = np.sin((lon[:, None] - lon[None, :]) / 2) ** 2
        chord = half_lat + np.cos(lat)[:, None] * np.cos(lat)[None, :] * half_lon
        metres = 2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(chord, 0.0, 1.0))) * self.detour
        seconds = np.where(metres < 1, 0.0, metres / (self.speed_kmh / 3.6) + self.trip_s)
        word = tuple(ESTIMATED for _ in places)
        return Travel(_whole(seconds), _whole(metres), tuple(word for _ in places))


@dataclass(frozen=True, slots=True)
class Table:
    """Known ways (a bridge, a river, a service's answer) over somebody else's estimate.

    A pair is (from, to), each rounded as `rounded` does; the way back is its own pair. What
    the table does not know keeps the word of `beneath`: that is how a gap is marked. Between
    two places round the corner, of one rounded place that the table knows, nothing is unknown.
    """

    ways: Mapping[tuple[LatLon, LatLon], Way]
    beneath: TravelSource

    def travel(self, places: Sequence[LatLon]) -> Travel:
        """Return the ways beneath, with the known ones put over them."""
        travel = self.beneath.travel(places)
        if not self.ways:
            return travel
        keys = [rounded(place) for place in places]
        known = {place for pair in self.ways for place in pair}
        seconds = [list(row) for row in travel.seconds]
        metres = [list(row) for row in travel.metres]
        source = [list(row) for row in travel.source]
        for i, start in enumerate(keys):
            for j, end in enumerate(keys):
                way = self.ways.get((start, end))
                if start == end and start in known:
                    source[i][j] = ROAD
                elif way is not None and i != j:
                    seconds[i][j], metres[i][j], source[i][j] = way.seconds, way.metres, ROAD
        return Travel(_rows(seconds), _rows(metres), tuple(tuple(row) for row in source))


def rounded(place: LatLon) -> LatLon:
    """Return a place rounded to about ten metres (four decimals of a degree)."""
    return LatLon(round(place.lat_deg, 4), round(place.lon_deg, 4))


def uneven(way: Way, back: Way) -> bool:
    """Tell whether a way is more than five times its way back: a slip rather than a road.

    One-way streets may make a way of minutes five times as long, so below five minutes none
    is compared.
    """
    return way.seconds > 5 * max(back.seconds, 60)


def _whole(cells: np.ndarray) -> tuple[tuple[int, ...], ...]:
    return _rows(np.rint(cells).astype(int).tolist())


def _rows(cells: list[list[int]]) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(row) for row in cells)
