"""One row of an order file: a repair with its run, site and access points.

A CSV line and a GeoJSON feature say the same things under the same names, so
both are read here into one `OrderRow`. A quantity's unit stands at the end of
its column name: ``length_m`` or ``length_ft``, ``diameter_mm`` or ``diameter_in``.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from repairs.domain.infiltration import Infiltration
from repairs.domain.order_cells import DIAMETER_UNITS, LENGTH_UNITS, PRESSURE_UNITS, Cells
from repairs.domain.order_checks import (
    datum_fault,
    distance_fault,
    filmed_fault,
    length_fault,
    told,
    window_fault,
)
from repairs.domain.priority import Priority
from repairs.domain.problem import Fault
from repairs.domain.straight_line import straight_line_m
from repairs.domain.units import Dimension


@dataclass(frozen=True, slots=True)
class OrderRow:
    """What a client says of one repair, in SI."""

    work_order: str
    site: str
    street: str
    time_zone: str
    run: str
    upstream: str
    upstream_latitude: float
    upstream_longitude: float
    downstream: str
    downstream_latitude: float
    downstream_longitude: float
    diameter_mm: float
    material: str
    length_m: float
    depth_m: float | None
    groundwater_above_invert_m: float | None
    host_limit_kpa: float | None
    repair: str
    defect_code: str
    defect_extent_m: float
    datum: str
    distance_m: float
    clock_from: int | None
    clock_to: int | None
    filmed_on: date | None
    film_ref: str
    infiltration: str
    offset_mm: float | None
    deformation_percent: float | None
    roots: bool | None
    deposits: bool | None
    void_behind: bool | None
    connection_in_sleeve: bool | None
    not_before: datetime | None
    not_after: datetime | None
    promised_by: date | None
    priority: str
    due_on: date | None
    note: str


TOO_MANY = "too many cells"
"""Under this name a line keeps what stands beyond the heading's last column."""


def read_order_row(cells: Mapping[str, Any], today: date) -> OrderRow | tuple[Fault, ...]:
    """Read one row; return the row, or every fault found in it.

    Parameters
    ----------
    cells
        The row's cells by column name.
    today
        The latest day it is anywhere on Earth: no film was made after it.
    """
    r = Cells(cells)
    fields = {**_place(r), **_pipe(r), **_defect(r)}
    r.faults += _checked(r, fields, today)
    if cells.get(TOO_MANY):
        r.fault("row", "more cells than the heading has columns", "a quoted cell, or one less")
    return tuple(r.faults) if r.faults else OrderRow(**fields)


def columns_not_understood(rows: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Name the columns of a file that say nothing here, as they are written there."""
    written = dict.fromkeys(str(name) for row in rows for name in row)
    return tuple(
        name for name in written if name != TOO_MANY and name.strip().lower() not in COLUMNS
    )


def _place(r: Cells) -> dict[str, Any]:
    return {
        "work_order": r.text("work_order", "the customer's order number"),
        "site": r.text("site", "the customer's ref of the site"),
        "street": r.text("street", required=False),
        "time_zone": r.zone("time_zone"),
        "run": r.text("run", "the customer's id of the pipe run"),
        "upstream": r.text("upstream", "ref of the upstream access point"),
        "upstream_latitude": r.number("upstream_latitude", -90, 90, required=True),
        "upstream_longitude": r.number("upstream_longitude", -180, 180, required=True),
        "downstream": r.text("downstream", "ref of the downstream access point"),
        "downstream_latitude": r.number("downstream_latitude", -90, 90, required=True),
        "downstream_longitude": r.number("downstream_longitude", -180, 180, required=True),
    }


def _pipe(r: Cells) -> dict[str, Any]:
    return {
        "diameter_mm": r.quantity(
            "diameter", Dimension.DIAMETER, DIAMETER_UNITS, 50, 3000, required=True
        ),
        "material": r.text("material"),
        "length_m": r.quantity("length", Dimension.LENGTH, LENGTH_UNITS, 0.1, 5000, required=True),
        "depth_m": r.quantity("depth", Dimension.LENGTH, LENGTH_UNITS, 0, 100),
        "groundwater_above_invert_m": r.quantity(
            "groundwater_above_invert", Dimension.LENGTH, LENGTH_UNITS, 0, 100
        ),
        "host_limit_kpa": r.quantity("host_limit", Dimension.PRESSURE, PRESSURE_UNITS, 0, 1000),
    }


def _defect(r: Cells) -> dict[str, Any]:
    return {
        "repair": r.text("repair", "a ref of the repair, unique in the work order"),
        "defect_code": r.text("defect_code", "a code such as BAB (EN 13508-2)").upper(),
        "defect_extent_m": r.quantity(
            "defect_extent", Dimension.LENGTH, LENGTH_UNITS, 0, 100, required=True
        ),
        "datum": r.text("datum", "the access point the distance is measured from"),
        "distance_m": r.quantity(
            "distance", Dimension.LENGTH, LENGTH_UNITS, 0, 5000, required=True
        ),
        "clock_from": r.clock("clock_from"),
        "clock_to": r.clock("clock_to"),
        "filmed_on": r.day("filmed_on"),
        "film_ref": r.text("film_ref", required=False),
        "infiltration": r.word("infiltration", tuple(Infiltration)),
        "offset_mm": r.quantity("offset", Dimension.DIAMETER, DIAMETER_UNITS, 0, 3000),
        "deformation_percent": r.number("deformation_percent", 0, 100),
        "roots": r.yes_no("roots"),
        "deposits": r.yes_no("deposits"),
        "void_behind": r.yes_no("void_behind"),
        "connection_in_sleeve": r.yes_no("connection_in_sleeve"),
        "not_before": r.instant("not_before"),
        "not_after": r.instant("not_after"),
        "promised_by": r.day("promised_by"),
        "priority": r.word("priority", tuple(word.value.lower() for word in Priority)).upper(),
        "due_on": r.day("due_on"),
        "note": r.text("note", required=False),
    }


def _checked(r: Cells, fields: Mapping[str, Any], today: date) -> tuple[Fault, ...]:
    """Return what is wrong between the cells; a cell that was not understood is left out."""
    ends = (r.raw("upstream"), r.raw("downstream"))
    length_m, distance_m = fields["length_m"], fields["distance_m"]
    faults: list[Fault | None] = [
        datum_fault("datum", r.raw("datum"), ends) if r.raw("datum") else None,
        window_fault(fields["not_before"], fields["not_after"]),
        filmed_fault("filmed_on", fields["filmed_on"], today),
    ]
    if ends[0] and ends[0] == ends[1]:
        faults.append(Fault("downstream", ends[1], "another access point than upstream"))
    if length_m is not None and distance_m is not None:
        faults.append(distance_fault(r.column("distance"), distance_m, length_m))
    positions = [fields[f"{end}_{axis}"] for end in _ENDS for axis in ("latitude", "longitude")]
    if length_m is not None and None not in positions:
        faults.append(length_fault(r.column("length"), length_m, straight_line_m(*positions)))
    return told(faults)


_ENDS = ("upstream", "downstream")


def _columns() -> frozenset[str]:
    """Ask a row without cells: what is looked for in it is what there is."""
    r = Cells({})
    for read in (_place, _pipe, _defect):
        read(r)
    return frozenset(r.asked)


COLUMNS = _columns()
"""Every column an order file may have; a quantity has one for each of its units."""
