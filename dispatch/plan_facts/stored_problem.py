"""Packs a problem with its plan into bytes and back: what was planned can be asked again.

The codec follows the types of the dataclasses, so a new field needs nothing here.
"""

import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import datetime
from enum import Enum
from functools import cache
from hashlib import sha256
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from dispatch.domain.plan.problem import Problem


@dataclass(frozen=True, slots=True)
class Packed:
    """A problem as it is stored; the same problem has the same digest."""

    body: bytes
    digest: str


def pack(problem: Problem) -> Packed:
    """Return the problem as compressed JSON, with its SHA-256."""
    text = json.dumps(plain(problem), sort_keys=True, separators=(",", ":")).encode()
    return Packed(zlib.compress(text), sha256(text).hexdigest())


def unpack(body: bytes) -> Problem:
    """Return a problem that `pack` has stored."""
    found = typed(json.loads(zlib.decompress(body)), Problem)
    assert isinstance(found, Problem)  # noqa: S101 - what was asked for
    return found


def plain(value: Any) -> Any:
    """Return a value as JSON holds it: sets are sorted, a mapping is a list of pairs."""
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in fields(value)}
    match value:
        case Enum():
            return value.value
        case datetime():
            return value.isoformat()
        case Mapping():
            return sorted([plain(key), plain(inner)] for key, inner in value.items())
        case frozenset():
            return sorted(plain(each) for each in value)
    return _simple(value)


def _simple(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)  # 150 and 150.0 are the same millimetres
    return value


def typed(value: Any, wanted: Any) -> Any:
    """Return what JSON holds as the type that is wanted."""
    if value is None:
        return None
    origin, parts = get_origin(wanted), get_args(wanted)
    if origin is not None:
        return _several(value, origin, parts)
    if is_dataclass(wanted) and isinstance(wanted, type):
        hints = _hints(wanted)
        return wanted(**{name: typed(each, hints[name]) for name, each in value.items()})
    if wanted is datetime:
        return datetime.fromisoformat(value)
    return wanted(value) if isinstance(wanted, type) and issubclass(wanted, _MADE) else value


_MADE = (Enum, float)
"""What JSON holds in another form; whole numbers and text are what they are."""
_AS_IT_IS = (int, str)


def _several(value: Any, origin: Any, parts: tuple[Any, ...]) -> Any:
    """Return a tuple, a set, a mapping, or something that may be missing."""
    if origin == UnionType:
        return typed(value, next(part for part in parts if part is not type(None)))
    if origin is tuple:
        if parts[0] in _AS_IT_IS and parts[-1] is Ellipsis:
            return tuple(value)  # the many cells of a table of ways
        kinds = parts[:1] * len(value) if parts[-1] is Ellipsis else parts
        return tuple(typed(each, part) for each, part in zip(value, kinds, strict=True))
    if origin is frozenset:
        return frozenset(typed(each, parts[0]) for each in value)
    return {typed(key, parts[0]): typed(inner, parts[1]) for key, inner in value}


@cache
def _hints(of: type) -> dict[str, Any]:
    return get_type_hints(of)
