"""Reads known ways from a CSV: a line a way, with the minutes it takes and how long it is."""

from collections.abc import Iterable
from dataclasses import dataclass

from dispatch.domain.plan.asked_ways import LONGEST_M, Pair
from dispatch.domain.plan.travel import LONGEST_S, LatLon, Way, rounded, uneven
from repairs.domain.order_cells import Cells
from repairs.domain.order_file import CutRow
from repairs.domain.problem import Fault

SUCH_AS = "from_latitude,from_longitude,to_latitude,to_longitude,minutes,..."
"""The first columns, to be named when a file has no heading."""
_METRES = {"m": 1.0, "km": 1000.0, "mi": 1609.344}
"""The international mile is 1609.344 m exactly (agreement of 1959)."""
_SHORTEST_MIN = 0.1
_LONGEST_NOTE = 200


@dataclass(frozen=True, slots=True)
class ReadWay:
    """One line: its number in the file, and the ways it tells or what is wrong with it.

    A line with `both_ways` tells two.
    """

    line: int
    ways: tuple[tuple[Pair, Way], ...] = ()
    note: str = ""
    faults: tuple[Fault, ...] = ()


def read_ways(cut: Iterable[CutRow]) -> tuple[ReadWay, ...]:
    """Read each line by itself; then each against its way back, where the file has it.

    Parameters
    ----------
    cut
        Lines with the columns from_latitude, from_longitude, to_latitude and to_longitude in
        WGS 84 degrees, minutes, one of distance_km, distance_mi and distance_m, and if wanted
        both_ways (yes or no) and note.
    """
    read = [_read(row) for row in cut]
    told = {pair: way for each in read for pair, way in each.ways}
    return tuple(_against_its_way_back(each, told) for each in read)


def _read(row: CutRow) -> ReadWay:
    cells, line = Cells(row.cells), row.line or 0
    start, end = (_place(cells, name) for name in ("from", "to"))
    minutes = cells.number("minutes", _SHORTEST_MIN, LONGEST_S / 60, required=True)
    metres = _metres(cells)
    both = cells.yes_no("both_ways")
    note = cells.text("note", required=False)
    if len(note) > _LONGEST_NOTE:
        cells.fault("note", f"{len(note)} characters", f"at most {_LONGEST_NOTE}")
    if start is not None and start == end:
        cells.fault("to_latitude", "the place the way begins at", "a place 10 m away or more")
    if cells.faults or start is None or end is None or minutes is None or metres is None:
        return ReadWay(line, faults=tuple(cells.faults))
    way = Way(round(minutes * 60), round(metres))
    back = (((end, start), way),) if both else ()
    return ReadWay(line, (((start, end), way), *back), note)


def _place(cells: Cells, name: str) -> LatLon | None:
    lat = cells.number(f"{name}_latitude", -90, 90, required=True)
    lon = cells.number(f"{name}_longitude", -180, 180, required=True)
    return None if lat is None or lon is None else rounded(LatLon(lat, lon))


def _metres(cells: Cells) -> float | None:
    """Return the length from whichever of its columns is filled."""
    given = [unit for unit in _METRES if cells.raw(f"distance_{unit}")]
    if len(given) != 1:
        columns = ", ".join(f"distance_{unit}" for unit in _METRES)
        cells.fault("distance_m", f"{len(given)} columns filled", f"one column of {columns}")
        return None
    (unit,) = given
    found = cells.number(f"distance_{unit}", 0, LONGEST_M / _METRES[unit], required=True)
    return None if found is None else found * _METRES[unit]


def _against_its_way_back(each: ReadWay, told: dict[Pair, Way]) -> ReadWay:
    for (start, end), way in each.ways:
        back = told.get((end, start))
        if back is not None and (uneven(way, back) or uneven(back, way)):
            fault = Fault(
                "minutes",
                f"{way.seconds / 60:g}, and {back.seconds / 60:g} back",
                "a way at most five times its way back",
            )
            return ReadWay(each.line, faults=(fault,))
    return each
