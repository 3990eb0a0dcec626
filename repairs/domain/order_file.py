"""Cuts an order file into rows: CSV lines or GeoJSON features."""

import csv
import io
import json
from collections.abc import Mapping
from typing import Any

from repairs.domain.order_row import TOO_MANY
from repairs.domain.problem import Fault

MAX_ROWS = 5000
_LON_LAT = 2


class NotAnOrderFile(ValueError):  # noqa: N818 - says what it is
    """The file as a whole cannot be read; `fault` names what and why."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(f"{fault.field}: found {fault.found}, expected {fault.expected}")
        self.fault = fault


def cut_csv(text: str) -> list[Mapping[str, Any]]:
    """Return the lines of a CSV as dictionaries; comma, semicolon or tab, BOM allowed.

    Raises
    ------
    NotAnOrderFile
        When there is no heading line, no row, or too many.
    """
    body = text.removeprefix("\ufeff")
    heading = body.splitlines()[0] if body.strip() else ""
    separator = max(",;\t", key=heading.count)
    try:
        rows = list(csv.DictReader(io.StringIO(body), delimiter=separator, restkey=TOO_MANY))
    except csv.Error as error:
        raise NotAnOrderFile(Fault("file", f"no CSV ({error})", "CSV (RFC 4180)")) from error
    if not heading.count(separator):
        raise NotAnOrderFile(
            Fault("file", repr(heading[:60]), "a heading line with columns such as work_order,site")
        )
    return _counted([{k: v for k, v in row.items() if k} for row in rows])


def cut_geojson(text: str) -> list[Mapping[str, Any]]:
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
    return _counted([_cells(feature) for feature in features])


def _counted(rows: list[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
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
