"""The JSON Schema of record.json, made from the facts themselves, so that the two cannot part."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from qa.domain.closeout import CloseoutFacts
from qa.domain.closeout_record import RECORD_FORMAT

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_SCALARS: Mapping[type, dict[str, Any]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    NoneType: {"type": "null"},
    datetime: {"type": "string", "format": "date-time", "pattern": "Z$"},
    date: {"type": "string", "format": "date"},
    Decimal: {"type": "string", "pattern": r"^-?\d+(\.\d+)?$"},
}


def record_schema() -> dict[str, Any]:
    """Return the schema of record.json.

    Every field is there and no other; what a field means stands in its name, with its unit, and
    in the description of what it belongs to.

    Returns
    -------
    dict
        A schema of the 2020-12 dialect.
    """
    parts: dict[str, dict[str, Any]] = {}
    whole = _of_facts(CloseoutFacts, parts)
    whole["properties"] = {
        "format": {"const": RECORD_FORMAT},
        **whole["properties"],
        "evidence_paths": {
            "description": "Evidence id to its file's place in the package.",
            "type": "object",
            "additionalProperties": {"type": "string", "pattern": "^data/evidence/"},
        },
    }
    whole["required"] = list(whole["properties"])
    about = "One attempt at one repair as it was closed. Times are UTC; units are in the names."
    return {
        "$schema": DIALECT,
        "$id": f"urn:{RECORD_FORMAT}",
        "title": "Closeout record",
        **whole,
        "description": about,
        "$defs": dict(sorted(parts.items())),
    }


def _of_facts(facts: type, parts: dict[str, dict[str, Any]]) -> dict[str, Any]:
    hints = get_type_hints(facts)
    named = {field.name: _of(hints[field.name], parts) for field in fields(facts)}
    about = " ".join((facts.__doc__ or "").split("\n\n")[0].split())
    return {
        "description": about,
        "type": "object",
        "properties": named,
        "required": list(named),
        "additionalProperties": False,
    }


def _of(hint: Any, parts: dict[str, dict[str, Any]]) -> dict[str, Any]:
    origin, inside = get_origin(hint), get_args(hint)
    if isinstance(hint, type) and is_dataclass(hint):
        if hint.__name__ not in parts:
            parts[hint.__name__] = {}  # so that a part may hold itself
            parts[hint.__name__] = _of_facts(hint, parts)
        return {"$ref": f"#/$defs/{hint.__name__}"}
    if origin is Literal:
        return {"enum": list(inside)}
    if origin in (Union, UnionType):
        return {"anyOf": [_of(each, parts) for each in inside]}
    if origin is tuple:
        return _of_tuple(inside, parts)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _of(inside[1], parts)}
    return dict(_SCALARS[hint])


def _of_tuple(inside: tuple[Any, ...], parts: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """Describe a list of any length, or a row of fixed places such as a reading."""
    if len(inside) == 2 and inside[1] is Ellipsis:  # noqa: PLR2004 - tuple[X, ...]
        return {"type": "array", "items": _of(inside[0], parts)}
    places = [_of(each, parts) for each in inside]
    return {"type": "array", "prefixItems": places, "items": False, "minItems": len(places)}
