"""An invented town, drawn at sea so that nobody mistakes it for a place: its pipes and orders."""

import csv
import io
import json
from datetime import datetime, timedelta
from typing import Any

ORIGIN_LON, ORIGIN_LAT = -40.0, 40.0
RUN_DEGREES = 0.0005
LATE_AFTERNOON_H = 17

STREETS = (
    "Invented Lane",
    "Made-up Road",
    "Sample Street",
    "Example Row",
    "Mock Alley",
    "Test Way",
)
DEFECTS = (
    ("BAB", 0.20, 14.2),
    ("BAJ", 0.15, 22.7),
    ("BAB", 0.35, 9.4),
    ("BAF", 0.30, 31.0),
    ("BBF", 0.10, 17.8),
    ("BAB", 0.25, 26.3),
)


def zone_of(now: datetime) -> str:
    """Return a zone in which it is late afternoon now, so that the day lies behind us."""
    west = (now.hour - LATE_AFTERNOON_H + 12) % 24 - 12
    return f"Etc/GMT{west:+d}" if west else "Etc/GMT"


def repair_rows(now: datetime) -> list[dict[str, Any]]:
    """Return the six repairs of the day as an order file says them."""
    filmed = (now.date() - timedelta(days=20)).isoformat()
    return [_row(number, filmed, zone_of(now)) for number in range(len(DEFECTS))]


def as_geojson(rows: list[dict[str, Any]]) -> str:
    """Return the first rows as a GeoJSON order file: each run a line from upstream down."""
    features = []
    for row in rows:
        properties = {k: v for k, v in row.items() if not k.endswith(("latitude", "longitude"))}
        line = [
            [row["upstream_longitude"], row["upstream_latitude"]],
            [row["downstream_longitude"], row["downstream_latitude"]],
        ]
        features.append(
            {
                "type": "Feature",
                "geometry": {"type": "LineString", "coordinates": line},
                "properties": properties,
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features})


def with_a_bad_one(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the rows and one more that cannot be understood."""
    return [*rows, {**rows[0], "repair": "R-99", "distance_m": "fourteen"}]


def as_csv(rows: list[dict[str, Any]]) -> str:
    """Return rows as a CSV order file."""
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _row(number: int, filmed: str, zone: str) -> dict[str, Any]:
    code, extent, distance = DEFECTS[number]
    west = ORIGIN_LON + number * 4 * RUN_DEGREES
    return {
        "work_order": "WO-2026-17",
        "site": f"S-{number + 1:02d}",
        "street": STREETS[number],
        "time_zone": zone,
        "run": f"P-{100 + number}",
        "upstream": f"A-{number + 1}1",
        "upstream_latitude": ORIGIN_LAT,
        "upstream_longitude": round(west, 6),
        "downstream": f"A-{number + 1}2",
        "downstream_latitude": ORIGIN_LAT + RUN_DEGREES / 5,
        "downstream_longitude": round(west + RUN_DEGREES, 6),
        "diameter_mm": 200,
        "material": "vitrified clay",
        "length_m": 43.5,
        "depth_m": 3.1,
        "groundwater_above_invert_m": 1.2,
        "repair": f"R-{number + 1}",
        "defect_code": code,
        "defect_extent_m": extent,
        "datum": f"A-{number + 1}1",
        "distance_m": distance,
        "clock_from": 2,
        "clock_to": 5,
        "filmed_on": filmed,
        "film_ref": f"INSP-{number + 1}",
        "infiltration": "none",
        "offset_mm": 3,
        "deformation_percent": 1,
        "roots": "no",
        "deposits": "no",
        "void_behind": "no",
        "connection_in_sleeve": "no",
    }
