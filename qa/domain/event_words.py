"""A field event in one line, as a client reads it in a report."""

from collections.abc import Callable, Mapping
from typing import Any

from repairs.domain.field_event import Event, EventKind
from repairs.domain.measuring import AS_REPORTED
from repairs.domain.units import Dimension, words

AIR = (
    "oxygen_percent", "flammable_percent_lel", "hydrogen_sulphide_ppm", "carbon_monoxide_ppm"
)  # fmt: skip
"""Readings that are taken before anybody enters."""

Say = Callable[[Mapping[str, Any]], str]


def _q(data: Mapping[str, Any], name: str, dimension: Dimension, digits: int = 1) -> str:
    value = data.get(name)
    return "not given" if value is None else words(float(value), dimension, digits)


def _yes(data: Mapping[str, Any], name: str, yes: str, no: str) -> str:
    value = data.get(name)
    return "" if value is None else (yes if value else no)


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


_SAY: Mapping[EventKind, Say] = {
    EventKind.ASSIGNED: lambda d: f"Assigned to crew {d.get('crew', '')}",
    EventKind.UNASSIGNED: lambda d: (
        f"Taken back from {'crew ' + str(d['crew']) if d.get('crew') else 'the crew'}: "
        f"{d.get('reason') or 'no reason given'}"
    ),
    EventKind.LOADED_OUT: lambda d: _joined(
        f"Truck loaded, packer {d.get('packer', 'not named')}",
        f"kit lot {d['kit_lot']}" if d.get("kit_lot") else "",
    ),
    EventKind.RESIDENTS_NOTIFIED: lambda d: _joined(
        "Residents notified", str(d["how"]) if d.get("how") else ""
    ),
    EventKind.ARRIVED: lambda d: _joined(
        "Arrived on site",
        f"run {d['run']}" if d.get("run") else "",
        f"at access point {d['access_point']}" if d.get("access_point") else "",
    ),
    EventKind.MADE_SAFE: lambda d: _joined(
        # What was reported, and no judgement of it: nobody here declares a place safe.
        "Traffic control, flow control and air as reported",
        _yes(d, "traffic_set", "traffic control set", "no traffic control"),
        _yes(d, "flow_controlled", "flow controlled", "flow not controlled"),
        _yes(d, "entry_planned", "entry planned", "nobody enters"),
        f"permit {d['permit']}" if d.get("permit") else "",
        *(
            text.format(d[name])
            for name, text in (
                ("oxygen_percent", "oxygen {:g} %"),
                ("flammable_percent_lel", "flammable gas {:g} % of the lower limit"),
                ("hydrogen_sulphide_ppm", "hydrogen sulphide {:g} ppm"),
                ("carbon_monoxide_ppm", "carbon monoxide {:g} ppm"),
            )
            if d.get(name) is not None
        ),
        "" if any(d.get(name) is not None for name in AIR) else "no readings of the air",
    ),
    EventKind.INSPECTED: lambda d: _joined(
        "Pipe inspected",
        _yes(d, "clean", "clean", "not clean"),
        _yes(d, "sharp_edges", "sharp edges seen", "no sharp edges"),
    ),
    EventKind.DISTANCE_MARKED: lambda d: (
        f"Distance marked from {d.get('datum')}: "
        f"counter {_q(d, 'counter_m', Dimension.LENGTH, 2)}, "
        f"tape {_q(d, 'tape_m', Dimension.LENGTH, 2)}"
    ),
    EventKind.MEASURING_CORRECTED: lambda d: _joined(
        f"Measuring put right: {d.get('reason')}",
        *(
            f"{told} {_q(d, name, Dimension.LENGTH, 2)}"
            for name, told in (("too_long_by_m", "too long by"), ("too_short_by_m", "too short by"))
            if d.get(name)
        ),
        f"measured from {d['datum']}" if d.get("datum") else "",
        _yes(d, "from_other_end", "counted from the other end", ""),
    ),
    EventKind.DRY_RUN_DONE: lambda d: _joined(
        "Dry run", _yes(d, "reached_mark", "reached the mark", "did not reach the mark")
    ),
    EventKind.FILM_CHANGED: lambda _: "New protective film put on the packer",
    EventKind.HOLD_TEST_DONE: lambda d: (
        f"Hold test {_q(d, 'duration_min', Dimension.DURATION, 0)}: "
        f"{_q(d, 'start_pressure_kpa', Dimension.PRESSURE)} to "
        f"{_q(d, 'end_pressure_kpa', Dimension.PRESSURE)}"
    ),
    EventKind.MIXING_STARTED: lambda d: (
        f"Mixing started at {_q(d, 'resin_temperature_c', Dimension.TEMPERATURE)}, "
        f"kit lot {d.get('kit_lot')}, resin {d.get('lot_a')} and {d.get('lot_b')}"
    ),
    EventKind.WET_OUT_DONE: lambda d: _joined(
        "Sleeve wet out", _yes(d, "saturated", "saturated on both sides", "dry spots seen")
    ),
    EventKind.PLACED: lambda d: _joined(
        f"Placed {_q(d, 'distance_m', Dimension.LENGTH, 2)} from {d.get('datum')}",
        _yes(d, "ends_seen", "both ends seen by camera", ""),
    ),
    EventKind.INFLATED: lambda d: f"Inflated to {_q(d, 'pressure_kpa', Dimension.PRESSURE)}",
    EventKind.TEMPERATURE_READ: lambda d: (
        f"Temperature of the {str(d.get('where', '')).replace('_', ' ')}: "
        f"{_q(d, 'temperature_c', Dimension.TEMPERATURE)}"
    ),
    EventKind.PRESSURE_READ: lambda d: f"Pressure {_q(d, 'pressure_kpa', Dimension.PRESSURE)}",
    EventKind.DEFLATED: lambda d: _joined("Deflated", _yes(d, "by_vacuum", "by vacuum", "")),
    EventKind.WITHDRAWN: lambda d: _joined(
        "Packer withdrawn", _yes(d, "film_came_out", "film came out", "film stayed in")
    ),
    EventKind.FILMED: lambda d: _joined(
        "Finished repair filmed",
        f"highest wrinkle {words(1000 * float(d['wrinkle_m']), Dimension.DIAMETER, 1)}"
        if d.get("wrinkle_m") is not None
        else "",
    ),
    EventKind.WALL_MEASURED: lambda d: (
        f"Wall measured, {d.get('readings')} readings: "
        f"mean {_q(d, 'mean_m', Dimension.LENGTH, 4)}, "
        f"lowest {_q(d, 'lowest_m', Dimension.LENGTH, 4)}"
    ),
    EventKind.LEAK_TESTED: lambda d: (
        f"Leak test: {_q(d, 'start_pressure_kpa', Dimension.PRESSURE)}, "
        f"after {d.get('duration_min', 0):g} min {_q(d, 'end_pressure_kpa', Dimension.PRESSURE)}"
    ),
    EventKind.LEFT: lambda d: _joined(
        "Left the site", _yes(d, "flow_restored", "flow restored", "flow NOT restored")
    ),
    EventKind.HELD: lambda d: f"Put on hold: {d.get('reason', '')}",
    EventKind.RELEASED: lambda _: "Hold released",
    EventKind.CLOSED: lambda _: "Closed",
    EventKind.ACCEPTED: lambda _: "Accepted by the client",
    EventKind.RETURNED: lambda _: "Returned by the client",
    EventKind.REWORK_ORDERED: lambda d: f"To be done again: {d.get('words', '')}",
}


def kind_words(kind: str) -> str:
    """Return what a kind of event is called among others, without judging the place."""
    return "traffic, flow and air" if kind == EventKind.MADE_SAFE else kind.replace("_", " ")


def say(event: Event) -> str:
    """Return the event in one line, with its sleeve where the crew named one."""
    which = f" (sleeve {event.data['sleeve']})" if event.data.get("sleeve") else ""
    line = _SAY[event.kind](event.data) + which
    first = event.data.get(AS_REPORTED)
    return f"{line}; put right, reported first: {_SAY[event.kind](first)}" if first else line
