"""What each kind of field event carries, and how it is read.

The table `CARRIES` is the whole truth: the API, the documentation and the
reference client are made from it. A quantity comes in as
``{"value": 4.8, "unit": "psi"}`` and is kept in SI under a name with its unit
(``pressure_kpa``).
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from repairs.domain.event_values import Carried, expected, read_one
from repairs.domain.field_event import EventKind
from repairs.domain.measuring import PARTS
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension


def _maybe(name: str, what: Dimension | type | tuple[str, ...], words: str = "") -> Carried:
    return Carried(name, what, required=False, words=words)


_L, _P, _T, _M, _D = (
    Dimension.LENGTH,
    Dimension.PRESSURE,
    Dimension.TEMPERATURE,
    Dimension.MASS,
    Dimension.DURATION,
)

_SLEEVE = Carried("sleeve", int, required=False, words="which sleeve of the repair, from 1")

CARRIES: Mapping[EventKind, tuple[Carried, ...]] = {
    EventKind.LOADED_OUT: (
        Carried("packer", str, words="serial number of the packer on the truck"),
        _maybe("kit_lot", str, "lot of the kit loaded"),
        _maybe("checked", list, "what was ticked off"),
    ),
    EventKind.RESIDENTS_NOTIFIED: (_maybe("how", str, "in writing, at the door, ..."),),
    EventKind.ARRIVED: (
        _maybe("run", str, "ref of the run, as read on the site's plan or tag"),
        _maybe("access_point", str, "ref of the access point the crew stands at"),
    ),
    EventKind.MADE_SAFE: (
        _maybe("traffic_set", bool),
        _maybe("flow_controlled", bool),
        _maybe("entry_planned", bool, "whether anybody enters"),
        _maybe("permit", str, "number of the entry permit"),
        _maybe("permit_from", datetime),
        _maybe("permit_until", datetime),
        _maybe("oxygen_percent", float),
        _maybe("flammable_percent_lel", float),
        _maybe("hydrogen_sulphide_ppm", float),
        _maybe("carbon_monoxide_ppm", float),
    ),
    EventKind.INSPECTED: (
        Carried("clean", bool),
        Carried("sharp_edges", bool),
        _maybe("standing_debris", bool),
        _maybe("sleeve_can_pass", bool),
    ),
    EventKind.DISTANCE_MARKED: (
        Carried("datum", str, words="ref of the access point measured from"),
        Carried("counter", _L, words="distance by the camera's counter"),
        Carried("tape", _L, words="distance by tape along the hose"),
    ),
    EventKind.MEASURING_CORRECTED: (
        Carried("reason", str, words="what was found to be wrong"),
        _maybe("too_long_by", _L, "wrong zero: taken off the distances reported until now"),
        _maybe("too_short_by", _L, "wrong zero: added to them"),
        _maybe("of", tuple(PARTS), "which distances the wrong zero touches; all, if not said"),
        _maybe("datum", str, "wrong access point: ref of the one it was really measured from"),
        _maybe("from_other_end", bool, "wrong end: d becomes the run's length less d"),
    ),
    EventKind.DRY_RUN_DONE: (Carried("reached_mark", bool),),
    EventKind.FILM_CHANGED: (),
    EventKind.HOLD_TEST_DONE: (
        Carried("start_pressure", _P),
        Carried("end_pressure", _P),
        Carried("duration", _D, above=0.0),
        Carried("gauge_resolution", _P, words="smallest step the gauge shows", above=0.0),
        _maybe("start_temperature", _T),
        _maybe("end_temperature", _T),
        _maybe("packer", str, "serial number of the packer tested"),
        _maybe("fully_round", bool),
    ),
    EventKind.MIXING_STARTED: (
        _SLEEVE,
        Carried("resin_temperature", _T),
        Carried("kit_lot", str),
        Carried("lot_a", str),
        Carried("lot_b", str),
        _maybe("mass_a", _M),
        _maybe("mass_b", _M),
        _maybe("mixed_by", str),
        _maybe("new_batch", bool, "the earlier batch was thrown away"),
    ),
    EventKind.WET_OUT_DONE: (
        _SLEEVE,
        _maybe("saturated", bool, "both sides, no dry spots"),
        _maybe("uniform_colour", bool),
    ),
    EventKind.PLACED: (
        _SLEEVE,
        Carried("datum", str),
        Carried("distance", _L, words="datum to the packer's centre"),
        _maybe("ends_seen", bool, "camera saw both sleeve ends beside the defect"),
    ),
    EventKind.INFLATED: (_SLEEVE, Carried("pressure", _P)),
    EventKind.TEMPERATURE_READ: (
        Carried("temperature", _T),
        Carried("where", ("pipe_wall", "resin", "air")),
    ),
    EventKind.PRESSURE_READ: (Carried("pressure", _P),),
    EventKind.DEFLATED: (
        _SLEEVE,
        _maybe("by_vacuum", bool),
        _maybe("sample_hard", bool, "left-over resin of the same mix, kept beside"),
    ),
    EventKind.WITHDRAWN: (_SLEEVE, _maybe("film_came_out", bool)),
    EventKind.FILMED: (
        _maybe("wrinkle", _L, "height of the highest wrinkle"),
        _maybe("ends_sealed", bool),
        _maybe("connections_open", bool),
    ),
    EventKind.WALL_MEASURED: (
        Carried("mean", _L, words="mean of the readings", above=0.0),
        Carried("lowest", _L, words="the thinnest reading", above=0.0),
        Carried("readings", int, words="how many"),
    ),
    EventKind.LEAK_TESTED: (
        Carried("start_pressure", _P),
        Carried("end_pressure", _P),
        Carried("duration", _D, above=0.0),
    ),
    EventKind.LEFT: (
        Carried("flow_restored", bool),
        _maybe("connections_open", bool),
        _maybe("site_clean", bool),
        _maybe("residents_told", bool),
    ),
    EventKind.HELD: (Carried("reason", str),),
    EventKind.RELEASED: (),
    EventKind.ASSIGNED: (),
    EventKind.UNASSIGNED: (),
    EventKind.CLOSED: (),
    EventKind.ACCEPTED: (),
    EventKind.RETURNED: (),
    EventKind.REWORK_ORDERED: (),
}

NOT_UNDERSTOOD = "not_understood"
"""Where an event keeps what came with it and no row of `CARRIES` knows."""

ALWAYS_ALLOWED = frozenset({"note", "reason", "taken_back"})
"""What any event may carry: a note, a reason for a correction, or a mere taking back."""


def read_data(
    kind: EventKind, sent: Mapping[str, Any]
) -> tuple[dict[str, Any], tuple[Fault, ...], tuple[str, ...]]:
    """Read what an event carries.

    Parameters
    ----------
    kind : EventKind
        Which row of `CARRIES` applies.
    sent : mapping
        The event's ``data`` as it came.

    Returns
    -------
    kept, faults, unknown : dict, tuple of Fault, tuple of str
        `kept` holds quantities in SI. With any fault nothing may be stored.
        `unknown` names what is kept as it came but not understood: a fact is
        not refused for a word too many.
    """
    taken_back = sent.get("taken_back", False)
    if not isinstance(taken_back, bool):
        fault = Fault("data.taken_back", repr(taken_back)[:80], "true or false")
        return {}, (fault,), ()
    if taken_back:
        return dict(sent), (), ()
    kept: dict[str, Any] = {}
    faults: list[Fault] = []
    carried = {item.name: item for item in CARRIES[kind]}
    for item in carried.values():
        if sent.get(item.name) is None:
            if item.required:
                faults.append(Fault(f"data.{item.name}", "nothing", expected(item)))
            continue
        try:
            name, value = read_one(item, sent[item.name])
        except ValueError as error:
            faults.append(Fault(f"data.{item.name}", repr(sent[item.name])[:80], str(error)))
        else:
            kept[name] = value
    others = {name: value for name, value in sent.items() if name not in carried}
    kept |= {name: others.pop(name) for name in ALWAYS_ALLOWED & set(others)}
    if others:
        # Apart from what was understood, so that no word can pass for a value in SI.
        kept[NOT_UNDERSTOOD] = others
    return kept, tuple(faults), tuple(sorted(others))
