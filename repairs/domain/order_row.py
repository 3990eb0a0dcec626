"""One row of an order file: a repair with its run, site and access points.

A CSV line and a GeoJSON feature say the same things under the same names, so
both are read here into one `OrderRow`. A quantity's unit stands at the end of
its column name: ``length_m`` or ``length_ft``, ``diameter_mm`` or ``diameter_in``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from repairs.domain.infiltration import Infiltration
from repairs.domain.problem import Fault
from repairs.domain.storable import unstorable
from repairs.domain.units import Dimension, parse


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
    note: str


_DIAMETER_UNITS = ("mm", "in", "cm", "m")
_LENGTH_UNITS = ("m", "ft", "cm", "mm", "in")
_PRESSURE_UNITS = ("kpa", "psi", "bar", "mbar")
_UNIT_WORDS = {"kpa": "kPa"}
_YES = {"yes", "true", "1", "y"}
_NO = {"no", "false", "0", "n"}
_CLOCK_HOURS = range(1, 13)
TOO_MANY = "too many cells"
"""Under this name a line keeps what stands beyond the heading's last column."""
_LONGEST = {"street": 200, "film_ref": 200, "defect_code": 10, "note": 10_000}
_LONGEST_ELSE = 60


class _Reader:
    """Reads one row's cells and gathers every fault instead of stopping at the first."""

    def __init__(self, cells: Mapping[str, Any]) -> None:
        self.cells = {str(name).strip().lower(): value for name, value in cells.items()}
        self.faults: list[Fault] = []

    def raw(self, name: str) -> str:
        value = self.cells.get(name)
        return "" if value is None else str(value).strip()

    def fault(self, field: str, found: str, expected: str) -> None:
        self.faults.append(Fault(field, found or "nothing", expected))

    def text(self, name: str, expected: str = "", *, required: bool = True) -> str:
        found = self.raw(name)
        if required and not found:
            self.fault(name, found, expected or "text")
        longest = _LONGEST.get(name, _LONGEST_ELSE)
        if isinstance(self.cells.get(name), dict | list):
            self.fault(name, "several values", "text")
        elif len(found) > longest:
            self.fault(name, f"{len(found)} characters", f"at most {longest}")
        elif what := unstorable(found):
            self.fault(name, what, "plain text")
        return found

    def number(self, name: str, low: float, high: float, *, required: bool = False) -> float | None:
        found = self.raw(name)
        if not found and not required:
            return None
        try:
            value = float(found)
        except ValueError:
            value = float("nan")
        if not isfinite(value) or not low <= value <= high:
            self.fault(name, found, f"a number from {low:g} to {high:g}")
            return None
        return value

    def quantity(
        self,
        name: str,
        dimension: Dimension,
        units: tuple[str, ...],
        low: float,
        high: float,
        *,
        required: bool = False,
    ) -> float | None:
        given = [unit for unit in units if self.raw(f"{name}_{unit}")]
        expected = f"one column of {', '.join(f'{name}_{unit}' for unit in units)}"
        if len(given) != 1:
            if given or required:
                self.fault(f"{name}_{units[0]}", f"{len(given)} columns filled", expected)
            return None
        column = f"{name}_{given[0]}"
        try:
            value = parse(float(self.raw(column)), _UNIT_WORDS.get(given[0], given[0]), dimension)
        except ValueError:
            self.fault(column, self.raw(column), "a number")
            return None
        if not isfinite(value) or not low <= value <= high:
            self.fault(column, self.raw(column), f"a value from {low:g} to {high:g} in SI")
            return None
        return value

    def yes_no(self, name: str) -> bool | None:
        found = self.raw(name).lower()
        if not found:
            return None
        if found in _YES or found in _NO:
            return found in _YES
        self.fault(name, found, "yes or no")
        return None

    def clock(self, name: str) -> int | None:
        value = self.number(name, 1, 12)
        if value is not None and value not in _CLOCK_HOURS:
            self.fault(name, self.raw(name), "a whole hour from 1 to 12, 12 at the crown")
            return None
        return None if value is None else int(value)

    def day(self, name: str) -> date | None:
        found = self.raw(name)
        if not found:
            return None
        try:
            return date.fromisoformat(found)
        except ValueError:
            self.fault(name, found, "a date such as 2026-11-25")
            return None

    def zone(self, name: str) -> str:
        found = self.raw(name)
        if found not in available_timezones():
            self.fault(name, found, "an IANA time zone such as Europe/Berlin")
            return ""
        return ZoneInfo(found).key

    def word(self, name: str, words: type[Infiltration]) -> str:
        found = self.raw(name).lower()
        if found and found not in {word.value for word in words}:
            self.fault(name, found, "one of " + ", ".join(word.value for word in words))
        return found


def read_order_row(cells: Mapping[str, Any]) -> OrderRow | tuple[Fault, ...]:
    """Read one row; return the row, or every fault found in it."""
    r = _Reader(cells)
    length_m = r.quantity("length", Dimension.LENGTH, _LENGTH_UNITS, 0.1, 5000, required=True)
    distance_m = r.quantity("distance", Dimension.LENGTH, _LENGTH_UNITS, 0, 5000, required=True)
    fields = {
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
        "diameter_mm": r.quantity(
            "diameter", Dimension.DIAMETER, _DIAMETER_UNITS, 50, 3000, required=True
        ),
        "material": r.text("material"),
        "length_m": length_m,
        "depth_m": r.quantity("depth", Dimension.LENGTH, _LENGTH_UNITS, 0, 100),
        "groundwater_above_invert_m": r.quantity(
            "groundwater_above_invert", Dimension.LENGTH, _LENGTH_UNITS, 0, 100
        ),
        "host_limit_kpa": r.quantity("host_limit", Dimension.PRESSURE, _PRESSURE_UNITS, 0, 1000),
        "repair": r.text("repair", "a ref of the repair, unique in the work order"),
        "defect_code": r.text("defect_code", "a code such as BAB (EN 13508-2)").upper(),
        "defect_extent_m": r.quantity(
            "defect_extent", Dimension.LENGTH, _LENGTH_UNITS, 0, 100, required=True
        ),
        "datum": r.text("datum", "the access point the distance is measured from"),
        "distance_m": distance_m,
        "clock_from": r.clock("clock_from"),
        "clock_to": r.clock("clock_to"),
        "filmed_on": r.day("filmed_on"),
        "film_ref": r.text("film_ref", required=False),
        "infiltration": r.word("infiltration", Infiltration),
        "offset_mm": r.quantity("offset", Dimension.DIAMETER, _DIAMETER_UNITS, 0, 3000),
        "deformation_percent": r.number("deformation_percent", 0, 100),
        "roots": r.yes_no("roots"),
        "deposits": r.yes_no("deposits"),
        "void_behind": r.yes_no("void_behind"),
        "connection_in_sleeve": r.yes_no("connection_in_sleeve"),
        "note": r.text("note", required=False),
    }
    _check_geometry(r, length_m, distance_m)
    if cells.get(TOO_MANY):
        r.fault("row", "more cells than the heading has columns", "a quoted cell, or one less")
    return tuple(r.faults) if r.faults else OrderRow(**fields)  # type: ignore[arg-type]


def _check_geometry(r: _Reader, length_m: float | None, distance_m: float | None) -> None:
    ends = (r.raw("upstream"), r.raw("downstream"))
    if r.raw("datum") and r.raw("datum") not in ends:
        r.fault("datum", r.raw("datum"), f"{ends[0]} or {ends[1]}, the ends of the run")
    if ends[0] and ends[0] == ends[1]:
        r.fault("downstream", ends[1], "another access point than upstream")
    if length_m is not None and distance_m is not None and distance_m > length_m:
        r.fault("distance_m", f"{distance_m:g}", f"at most the run's length, {length_m:g} m")
