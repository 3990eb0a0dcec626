"""The field sequence of one good repair, as a crew's phone sends it; invented."""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

MINUTES: dict[str, float] = {
    "loaded_out": 0,
    "arrived": 30,
    "made_safe": 35,
    "inspected": 45,
    "distance_marked": 50,
    "dry_run_done": 55,
    "film_changed": 58,
    "hold_test_done": 66,
    "mixing_started": 70,
    "wet_out_done": 78,
    "placed": 84,
    "inflated": 88,
    "deflated": 243,
    "withdrawn": 246,
    "filmed": 252,
    "left": 262,
}
"""When each step happens, in minutes after the load-out. The cure takes 155 min at 20 °C."""

LAST_MIN = MINUTES["left"]


def quantity(value: float, unit: str) -> dict[str, Any]:
    """Return a quantity as it is sent."""
    return {"value": value, "unit": unit}


def carried(repair: Any, *, lot: Any, packer: str, masses: tuple[float, float]) -> dict[str, Any]:
    """Return what each step carries, right for the repair, its lot and its prescription."""
    datum, distance = repair.datum.ref, quantity(repair.distance_m, "m")
    return {
        "loaded_out": {"packer": packer, "kit_lot": lot.number},
        "arrived": {},
        "made_safe": {"traffic_set": True, "flow_controlled": True},
        "inspected": {"clean": True, "sharp_edges": False, "sleeve_can_pass": True},
        "distance_marked": {"datum": datum, "counter": distance, "tape": distance},
        "dry_run_done": {"reached_mark": True},
        "film_changed": {},
        "hold_test_done": {
            "start_pressure": quantity(4.8, "psi"),
            "end_pressure": quantity(4.8, "psi"),
            "duration": quantity(5, "min"),
            "gauge_resolution": quantity(0.1, "psi"),
            "packer": packer,
            "fully_round": True,
        },
        "mixing_started": {
            "resin_temperature": quantity(20, "degC"),
            "kit_lot": lot.number,
            "lot_a": lot.resin_lot_a,
            "lot_b": lot.resin_lot_b,
            "mass_a": quantity(masses[0], "kg"),
            "mass_b": quantity(masses[1], "kg"),
        },
        "wet_out_done": {"saturated": True, "uniform_colour": True},
        "placed": {"datum": datum, "distance": distance, "ends_seen": True},
        "inflated": {"pressure": quantity(33, "kPa")},
        "deflated": {"by_vacuum": True},
        "withdrawn": {"film_came_out": True},
        "filmed": {"wrinkle": quantity(2, "mm"), "ends_sealed": True, "connections_open": True},
        "left": {"flow_restored": True, "connections_open": True, "site_clean": True},
    }


def event(
    repair_id: Any, kind: str, at: datetime, data: dict[str, Any] | None = None, **more: Any
) -> dict[str, Any]:
    """Return one event as a phone sends it."""
    return {
        "specversion": "1.0",
        "id": str(uuid4()),
        "source": "invented phone",
        "type": f"curewright.field.{kind}",
        "subject": str(repair_id),
        "time": at.isoformat(),
        "data": {} if data is None else data,
        **more,
    }


def whole_sequence(
    repair: Any, start: datetime, *, lot: Any, packer: str, masses: tuple[float, float]
) -> list[dict[str, Any]]:
    """Return every step of the repair, in the order of the work."""
    data = carried(repair, lot=lot, packer=packer, masses=masses)
    return [
        event(repair.id, kind, start + timedelta(minutes=minute), data[kind], sequence=number)
        for number, (kind, minute) in enumerate(MINUTES.items(), start=1)
    ]
