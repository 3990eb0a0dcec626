"""Cuts an order file into rows: CSV lines or GeoJSON features."""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from repairs.domain.order_row import TOO_MANY
from repairs.domain.problem import Fault

MAX_ROWS = 5000
SAVE_AS = 'UTF-8 text; in a spreadsheet, save as "CSV UTF-8"'
_LON_LAT = 2


class NotAnOrderFile(ValueError):  # noqa: N818 - says what it is
    """The file as a whole cannot be read; `fault` names what and why."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(f"{fault.field}: found {fault.found}, expected {fault.expected}")
        self.fault = fault


@dataclass(frozen=True, slots=True)
class CutRow:
    """One row of an order: its cells, and the line of a CSV it begins on, the heading being 1."""

    cells: Mapping[str, Any]
    line: int | None = None


def cut_csv(text: str, such_as: str = "work_order,site") -> list[CutRow]:
    """Return the lines of a CSV that say something; comma, semicolon or tab, BOM allowed.

    `such_as` names columns for whoever sent a file without a heading.

    Raises
    ------
    NotAnOrderFile
        When there is no heading line, no row, or too many.
    """
    body = text.removeprefix("\ufeff")
    heading = body.splitlines()[0] if body.strip() else ""
    separator = max(",;\t", key=heading.count)
    try:
        rows = _lines(body, separator)
    except csv.Error as error:
        raise NotAnOrderFile(Fault("file", f"no CSV ({error})", "CSV (RFC 4180)")) from error
    if not heading.count(separator):
        told = f"a heading line with columns such as {such_as}"
        raise NotAnOrderFile(Fault("file", repr(heading[:60]), told))
    return _counted(rows)


def _lines(body: str, separator: str) -> list[CutRow]:
    reader = csv.reader(io.StringIO(body), delimiter=separator)
    heading = next(reader, [])
    rows = []
    line = reader.line_num + 1
    for found in reader:
        cells: dict[str, Any] = {k: v for k, v in zip(heading, found, strict=False) if k}
        if len(found) > len(heading):
            cells[TOO_MANY] = found[len(heading) :]
        # A spreadsheet keeps rows that somebody emptied: they say nothing.
        if any(cell.strip() for cell in found):
            rows.append(CutRow(cells, line))
        # A quoted cell may hold line ends, so a row may end lines after it began.
        line = reader.line_num + 1
    return rows


def cut_geojson(text: str) -> list[CutRow]:
    """Return the features of a FeatureCollection as dictionaries.

    A LineString is the run from upstream to downstream: its first and last
    position become the access points' (longitude, latitude order, RFC 7946).
    """
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NotAnOrderFile(Fault("file", f"no JSON ({error})", "GeoJSON (RFC 7946)")) from error
    if not isinstance(document, dict) or document.get("type") != "FeatureCollection":
        raise NotAnOrderFile(Fault("type", "something else", "FeatureCollection"))
    features = document.get("features")
    if not isinstance(features, list):
        raise NotAnOrderFile(Fault("features", type(features).__name__, "a list of features"))
    return _counted([CutRow(_cells(feature)) for feature in features])


def _counted(rows: list[CutRow]) -> list[CutRow]:
    if not rows or len(rows) > MAX_ROWS:
        raise NotAnOrderFile(Fault("file", f"{len(rows)} rows", f"1 to {MAX_ROWS} rows"))
    return rows


def _cells(feature: Any) -> Mapping[str, Any]:
    if not isinstance(feature, dict):
        return {}
    properties = feature.get("properties")
    cells = dict(properties) if isinstance(properties, dict) else {}
    geometry = feature.get("geometry")
    if isinstance(geometry, dict) and geometry.get("type") == "LineString":
        ends = geometry.get("coordinates") or []
        if isinstance(ends, list) and len(ends) >= _LON_LAT:
            _put_position(cells, "upstream", ends[0])
            _put_position(cells, "downstream", ends[-1])
    return cells


def _put_position(cells: dict[str, Any], end: str, position: Any) -> None:
    if isinstance(position, list) and len(position) >= _LON_LAT:
        cells.setdefault(f"{end}_longitude", position[0])
        cells.setdefault(f"{end}_latitude", position[1])
