"""A visit to a repair as its events tell it; invented."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from dispatch.domain.plan.observed import Visit
from dispatch.domain.plan.travel import LatLon
from repairs.domain.chart import ClockStart
from repairs.domain.field_event import Event, EventKind
from repairs.domain.progress import fold

DAY = datetime(2026, 11, 26, 7, tzinfo=UTC)
MINUTES = {
    "arrived": 0,
    "mixing_started": 40,
    "wet_out_done": 48,
    "inflated": 58,
    "deflated": 180,
    "withdrawn": 184,
    "left": 200,
}
"""When each step happens, in minutes after the arrival: a cure of 122 min."""


def step(kind: str, minutes: float, **more: Any) -> Event:
    """Return one event on a phone whose clock is known to ten seconds."""
    at = DAY + timedelta(minutes=minutes)
    number = (hash((kind, minutes)) & 0xFFFFFFFF) + 1
    given: dict[str, Any] = {
        "device": "phone",
        "device_time": at,
        "received_at": at + timedelta(minutes=1),
        "offset_low_s": -5.0,
        "offset_high_s": 5.0,
    }
    return Event(id=UUID(int=number), kind=EventKind(kind), **(given | more))


def visit(
    events: Mapping[str, float] | None = None,
    *,
    also: tuple[Event, ...] = (),
    start_min: float = 0,
    **more: Any,
) -> Visit:
    """Return a visit of crew NORTH to a DN 300 with a hold of 105 min at 20 °C."""
    told = MINUTES if events is None else events
    steps = [step(kind, start_min + minutes) for kind, minutes in told.items()]
    given: dict[str, Any] = {
        "crew": "NORTH",
        "diameter_mm": 300.0,
        "place": LatLon(10.0, 20.0),
        "hold_min": 105.0,
        "clock_start": ClockStart.INFLATION,
        "wall_c": 20.0,
    }
    return Visit(progress=fold([*steps, *also], attempt=1), **(given | more))
