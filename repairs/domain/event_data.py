"""What each kind of field event carries, and how it is read.

The table `CARRIES` is the whole truth: the API, the documentation and the
reference client are made from it. A quantity comes in as
``{"value": 4.8, "unit": "psi"}`` and is kept in SI under a name with its unit
(``pressure_kpa``).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from repairs.domain.field_event import EventKind
from repairs.domain.measuring import PARTS
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension, accepted_units, parse

_SUFFIX = {
    Dimension.LENGTH: "_m",
    Dimension.PRESSURE: "_kpa",
    Dimension.TEMPERATURE: "_c",
    Dimension.MASS: "_kg",
    Dimension.DURATION: "_min",
}
_EXAMPLE = {
    Dimension.LENGTH: '{"value": 14.2, "unit": "m"}',
    Dimension.PRESSURE: '{"value": 4.8, "unit": "psi"}',
    Dimension.TEMPERATURE: '{"value": 15, "unit": "degC"}',
    Dimension.MASS: '{"value": 1.6, "unit": "kg"}',
    Dimension.DURATION: '{"value": 5, "unit": "min"}',
}


_NEVER_NEGATIVE = frozenset(
    {Dimension.LENGTH, Dimension.PRESSURE, Dimension.MASS, Dimension.DURATION}
)
MOST_SLEEVES = 20


@dataclass(frozen=True, slots=True)
class Carried:
    """One value an event carries.

    Parameters
    ----------
    what : Dimension, type or tuple of str
        A dimension for a quantity, ``str``, ``bool`` or ``float`` for a plain
        value, ``list`` for a list of words, or the words to choose from.
    above : float or None
        In SI, a value must be more than this.
    """

    name: str
    what: Dimension | type | tuple[str, ...]
    required: bool = True
    words: str = ""
    above: float | None = None


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
    EventKind.ARRIVED: (),
    EventKind.MADE_SAFE: (
        _maybe("traffic_set", bool),
        _maybe("flow_controlled", bool),
        _maybe("entry_planned", bool, "whether anybody enters"),
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
    EventKind.DEFLATED: (_SLEEVE, _maybe("by_vacuum", bool)),
    EventKind.WITHDRAWN: (_SLEEVE, _maybe("film_came_out", bool)),
    EventKind.FILMED: (
        _maybe("wrinkle", _L, "height of the highest wrinkle"),
        _maybe("ends_sealed", bool),
        _maybe("connections_open", bool),
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
                faults.append(Fault(f"data.{item.name}", "nothing", _expected(item)))
            continue
        try:
            name, value = _read_one(item, sent[item.name])
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


def _read_one(item: Carried, value: Any) -> tuple[str, Any]:
    if isinstance(item.what, Dimension):
        return item.name + _SUFFIX[item.what], _bounded(item, _quantity(item, value))
    if item.what is int:
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_SLEEVES:
            raise ValueError(_expected(item))
        return item.name, value
    if isinstance(item.what, tuple):
        if value not in item.what:
            raise ValueError(_expected(item))
        return item.name, value
    if item.what is float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise ValueError(_expected(item))
        return item.name, float(value)
    if not isinstance(value, item.what) or (isinstance(value, str) and not value.strip()):
        raise ValueError(_expected(item))
    return item.name, value


def _bounded(item: Carried, value: float) -> float:
    """Refuse what cannot be, in SI: nothing has a length, mass or duration below none."""
    assert isinstance(item.what, Dimension)  # noqa: S101 - narrows the type for the reader too
    if item.above is not None and value <= item.above:
        raise ValueError(f"more than {item.above:g}: {_expected(item)}")
    if item.what in _NEVER_NEGATIVE and value < 0:
        raise ValueError(f"0 or more: {_expected(item)}")
    return value


def _quantity(item: Carried, value: Any) -> float:
    assert isinstance(item.what, Dimension)  # noqa: S101 - narrows the type for the reader too
    if not isinstance(value, Mapping) or not {"value", "unit"} <= set(value):
        raise ValueError(_expected(item))
    number = value["value"]
    if isinstance(number, bool) or not isinstance(number, int | float) or not isfinite(number):
        raise ValueError(_expected(item))
    try:
        return parse(float(number), str(value["unit"]), item.what)
    except ValueError:
        raise ValueError(f"a unit of {', '.join(accepted_units(item.what))}") from None


def _expected(item: Carried) -> str:
    hint = f" ({item.words})" if item.words else ""
    if isinstance(item.what, Dimension):
        return f"a quantity such as {_EXAMPLE[item.what]}{hint}"
    if isinstance(item.what, tuple):
        return "one of " + ", ".join(item.what) + hint
    words = {
        str: "text",
        bool: "true or false",
        float: "a number",
        list: "a list",
        int: f"a whole number from 1 to {MOST_SLEEVES}",
    }
    return words[item.what] + hint
