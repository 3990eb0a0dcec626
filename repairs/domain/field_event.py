"""The kinds of field event, and the one value the fold works on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any
from uuid import UUID


class EventKind(StrEnum):
    """What a crew, or the office, says has happened. A closed list, past tense."""

    ASSIGNED = "assigned"
    UNASSIGNED = "unassigned"
    RESIDENTS_NOTIFIED = "residents_notified"
    LOADED_OUT = "loaded_out"
    ARRIVED = "arrived"
    MADE_SAFE = "made_safe"
    INSPECTED = "inspected"
    DISTANCE_MARKED = "distance_marked"
    MEASURING_CORRECTED = "measuring_corrected"
    DRY_RUN_DONE = "dry_run_done"
    FILM_CHANGED = "film_changed"
    HOLD_TEST_DONE = "hold_test_done"
    MIXING_STARTED = "mixing_started"
    WET_OUT_DONE = "wet_out_done"
    PLACED = "placed"
    INFLATED = "inflated"
    TEMPERATURE_READ = "temperature_read"
    PRESSURE_READ = "pressure_read"
    DEFLATED = "deflated"
    WITHDRAWN = "withdrawn"
    FILMED = "filmed"
    WALL_MEASURED = "wall_measured"
    LEAK_TESTED = "leak_tested"
    LEFT = "left"
    HELD = "held"
    RELEASED = "released"
    CLOSED = "closed"
    ACCEPTED = "accepted"
    RETURNED = "returned"
    REWORK_ORDERED = "rework_ordered"


OFFICE_KINDS = frozenset(
    {
        EventKind.ASSIGNED,
        EventKind.UNASSIGNED,
        EventKind.CLOSED,
        EventKind.ACCEPTED,
        EventKind.RETURNED,
        EventKind.REWORK_ORDERED,
    }
)
"""Kinds only the office's own services write; a crew's post of one is refused as not theirs."""

SLEEVE_KINDS = frozenset(
    {
        EventKind.MIXING_STARTED,
        EventKind.WET_OUT_DONE,
        EventKind.PLACED,
        EventKind.INFLATED,
        EventKind.DEFLATED,
        EventKind.WITHDRAWN,
    }
)
"""Kinds that belong to one sleeve; ``data.sleeve`` says which, 1 where it is not said."""

CLOCK_KINDS = frozenset(
    {
        EventKind.TEMPERATURE_READ,
        EventKind.MIXING_STARTED,
        EventKind.WET_OUT_DONE,
        EventKind.INFLATED,
        EventKind.DEFLATED,
    }
)
"""Kinds that move the working-time clock or the cure clock."""


@dataclass(frozen=True, slots=True)
class Event:
    """One field event as the fold sees it.

    Parameters
    ----------
    id : UUID
        Made by the device; the key for ever.
    device_time : datetime
        What the device's clock said, aware UTC.
    received_at : datetime
        What the server's clock said at intake, aware UTC.
    offset_low_s, offset_high_s : float
        The device clock's offset lies within these seconds: true time is
        device time plus an offset in this interval.
    sequence : int or None
        The device's own counter, where it keeps one.
    corrects : UUID or None
        The event this one replaces; both stay stored.
    clock_verified : bool
        Whether the device told its clock's time when it sent the event.
    """

    id: UUID
    kind: EventKind
    device: str
    device_time: datetime
    received_at: datetime
    attempt: int = 1
    offset_low_s: float = 0.0
    offset_high_s: float = 0.0
    sequence: int | None = None
    corrects: UUID | None = None
    clock_verified: bool = True
    data: Mapping[str, Any] = field(default_factory=dict)
