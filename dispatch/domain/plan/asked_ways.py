"""What a service of ways is asked, and what of its answer is believed."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from dispatch.domain.plan.travel import LONGEST_S, LatLon, Way, rounded, uneven

LONGEST_M = 10**7
"""A quarter of the way round the earth: whoever gives more gave a wrong unit."""
Pair: TypeAlias = tuple[LatLon, LatLon]


class NotUnderstoodError(Exception):
    """The answer is no table of ways, or one of another size than asked."""


@dataclass(frozen=True, slots=True)
class Question:
    """Ways from each source to each destination."""

    sources: tuple[LatLon, ...]
    destinations: tuple[LatLon, ...]

    def pairs(self) -> Iterator[Pair]:
        """Yield each way that is asked for."""
        for start in self.sources:
            yield from ((start, end) for end in self.destinations if end != start)

    def as_json(self) -> dict[str, Any]:
        """Return what is sent: longitude first, as in GeoJSON (RFC 7946, 3.1.1)."""
        return {
            "sources": [[place.lon_deg, place.lat_deg] for place in self.sources],
            "destinations": [[place.lon_deg, place.lat_deg] for place in self.destinations],
        }


def questions(
    places: Sequence[LatLon], known: Collection[Pair], most_cells: int
) -> Iterator[Question]:
    """Yield what must be asked to know the ways between places, in tables of a bearable size.

    A place nobody knows a way from is asked to all; the others only to where they lack one.
    Neither table holds more than `most_cells`, unless a single row does.
    """
    distinct = list(dict.fromkeys(rounded(place) for place in places))
    lacking = {
        start: tuple(end for end in distinct if end != start and (start, end) not in known)
        for start in distinct
    }
    new = [each for each in distinct if lacking[each] and len(lacking[each]) == len(distinct) - 1]
    yield from _in_tables(new, tuple(distinct), most_cells)
    old = [start for start in distinct if lacking[start] and start not in set(new)]
    wanted = {end for start in old for end in lacking[start]}
    yield from _in_tables(old, tuple(end for end in distinct if end in wanted), most_cells)


def _in_tables(
    sources: Sequence[LatLon], destinations: tuple[LatLon, ...], most_cells: int
) -> Iterator[Question]:
    rows = max(1, most_cells // max(1, len(destinations)))
    for first in range(0, len(sources), rows):
        yield Question(tuple(sources[first : first + rows]), destinations)


def read_answer(body: Any, question: Question) -> dict[Pair, Way]:
    """Return the ways of an answer that can be believed, cell by cell.

    A cell that is empty, no number, negative, or longer than a way can be is left out; it
    stays estimated. A place to itself is no way.

    Raises
    ------
    NotUnderstoodError
        When the answer is not a table of the size that was asked.
    """
    seconds, metres = (_table(body, name, question) for name in ("durations", "distances"))
    found = {}
    for i, start in enumerate(question.sources):
        for j, end in enumerate(question.destinations):
            took, long = seconds[i][j], metres[i][j]
            if start != end and _believed(took, LONGEST_S) and _believed(long, LONGEST_M):
                found[start, end] = Way(round(took), round(long))
    return found


def even(ways: Mapping[Pair, Way]) -> dict[Pair, Way]:
    """Return the ways without those that are more than five times their way back.

    Of such a pair neither is believed: nobody can tell which of the two is the slip.
    """
    return {
        pair: way
        for pair, way in ways.items()
        if (back := ways.get((pair[1], pair[0]))) is None
        or not (uneven(way, back) or uneven(back, way))
    }


def _table(body: Any, name: str, question: Question) -> list[list[Any]]:
    table = body.get(name) if isinstance(body, Mapping) else None
    rows, columns = len(question.sources), len(question.destinations)
    if not isinstance(table, list) or len(table) != rows:
        raise NotUnderstoodError(f"{name}: expected {rows} rows")
    for row in table:
        if not isinstance(row, list) or len(row) != columns:
            raise NotUnderstoodError(f"{name}: expected {columns} numbers in each row")
    return table


def _believed(cell: Any, most: int) -> bool:
    """Tell whether a cell is a number from 0 to the most; NaN compares with nothing."""
    return isinstance(cell, int | float) and not isinstance(cell, bool) and 0 <= cell <= most
