"""A sketch of a day's routes: yards, stops and straight lines, north up; no street is drawn."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import cos, dist, radians

from dispatch.domain.plan.problem import CrewDay
from dispatch.domain.plan.travel import LatLon
from dispatch.models import Crew, PlanStop, Yard
from dispatch.plan_facts.places import place_of_repair, place_of_yard

WIDE, HIGH, MARGIN, NEAR = 400, 280, 34, 16
DASHES = ("", "9 5", "2 5", "14 4 3 4", "5 3")
"""Crews are told apart by their lines, in print as well."""
METRES_A_DEGREE = 111_195
NICE_M = (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)


@dataclass(frozen=True, slots=True)
class Dot:
    """A stop on the sketch."""

    x: float
    y: float
    words: str


@dataclass(frozen=True, slots=True)
class RouteLine:
    """A crew's route; `points` as SVG wants them."""

    crew: str
    dash: str
    points: str
    dots: tuple[Dot, ...]


@dataclass(frozen=True, slots=True)
class RouteMap:
    """The sketch with a bar for its scale."""

    wide: int
    high: int
    yards: tuple[Dot, ...]
    lines: tuple[RouteLine, ...]
    bar: float
    bar_words: str


def route_map(
    days: Sequence[tuple[CrewDay, Sequence[PlanStop]]], crews: Mapping[str, Crew]
) -> RouteMap | None:
    """Return the sketch of a day; None where nothing lies apart."""
    homes = {day.crew: _yard(crews, day) for day, _ in days}
    yards = {crew: place_of_yard(yard) for crew, yard in homes.items() if yard is not None}
    every = [*yards.values(), *(place_of_repair(s.repair) for _, stops in days for s in stops)]
    if len(set(every)) < 2:  # noqa: PLR2004 - a line has two ends
        return None
    paper = _Paper(every)
    lines = []
    for number, (day, stops) in enumerate(days):
        at = [paper.at(place_of_repair(stop.repair)) for stop in stops]
        home = [paper.at(yards[day.crew])] if day.crew in yards else []
        # A crew that goes on from where it works now does not come from its yard.
        leaves = home if day.start_place == day.end_place else []
        lines.append(
            RouteLine(
                crew=crews[day.crew].name if day.crew in crews else day.crew,
                dash=DASHES[number % len(DASHES)],
                points=" ".join(f"{x},{y}" for x, y in [*leaves, *at, *home]),
                dots=tuple(_dots(at, stops)),
            )
        )
    named = {place_of_yard(yard): yard.name for yard in homes.values() if yard is not None}
    return RouteMap(
        wide=WIDE,
        high=paper.high,
        yards=tuple(Dot(*paper.at(place), words) for place, words in named.items()),
        lines=tuple(lines),
        bar=round(paper.bar_m * paper.scale, 1),
        bar_words=f"{paper.bar_m / 1000:g} km",
    )


def _yard(crews: Mapping[str, Crew], day: CrewDay) -> Yard | None:
    return crews[day.crew].yard if day.crew in crews else None


def _dots(at: Iterable[tuple[float, float]], stops: Iterable[PlanStop]) -> Iterator[Dot]:
    """Yield a dot a stop; those that lie close to each other share their words."""
    named: list[tuple[tuple[float, float], list[str]]] = []
    for point, stop in zip(at, stops, strict=True):
        near = next((refs for other, refs in named if dist(point, other) < NEAR), None)
        if near is None:
            named.append((point, [stop.repair.ref]))
        else:
            near.append(stop.repair.ref)
            yield Dot(*point, "")
    for (x, y), refs in named:
        yield Dot(x, y, ", ".join(refs))


class _Paper:
    """Turns degrees into points of the sketch; a degree of longitude is shorter off the line."""

    def __init__(self, places: Sequence[LatLon]) -> None:
        lats = [each.lat_deg for each in places]
        lons = [each.lon_deg for each in places]
        self.shrink = cos(radians(sum(lats) / len(lats)))
        self.west, self.north = min(lons), max(lats)
        wide_m = (max(lons) - self.west) * self.shrink * METRES_A_DEGREE
        high_m = (self.north - min(lats)) * METRES_A_DEGREE
        self.scale = min(
            (WIDE - 2 * MARGIN) / max(wide_m, 1.0), (HIGH - 2 * MARGIN) / max(high_m, 1.0)
        )
        self.high = round(high_m * self.scale) + 2 * MARGIN
        self.left = (WIDE - wide_m * self.scale) / 2
        self.bar_m = max((n for n in NICE_M if n * self.scale <= WIDE / 4), default=NICE_M[0])

    def at(self, place: LatLon) -> tuple[float, float]:
        """Return where a place lies on the sketch."""
        east_m = (place.lon_deg - self.west) * self.shrink * METRES_A_DEGREE
        south_m = (self.north - place.lat_deg) * METRES_A_DEGREE
        return (
            round(self.left + east_m * self.scale, 1),
            round(MARGIN + south_m * self.scale, 1),
        )
