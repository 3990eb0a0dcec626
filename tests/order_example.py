"""A row of an order file as a client writes it; invented."""

from datetime import date
from typing import Any

TODAY = date(2026, 11, 25)
"""The day on which the row is sent."""


def order_row(**changed: Any) -> dict[str, Any]:
    """Return a row that is understood, with some cells changed."""
    return {
        "work_order": "WO-1",
        "site": "S-1",
        "street": "Invented Street",
        "time_zone": "CET",
        "run": "R-1",
        "upstream": "AP-1",
        "upstream_latitude": "10.0",
        "upstream_longitude": "20.0",
        "downstream": "AP-2",
        "downstream_latitude": "10.0003",
        "downstream_longitude": "20.0001",
        "diameter_mm": "300",
        "material": "concrete",
        "length_m": "40",
        "groundwater_above_invert_m": "0.5",
        "repair": "1",
        "defect_code": "BAB",
        "defect_extent_m": "0.3",
        "datum": "AP-1",
        "distance_m": "14.2",
        "filmed_on": "2026-10-01",
        "infiltration": "none",
        "roots": "no",
        **changed,
    }
