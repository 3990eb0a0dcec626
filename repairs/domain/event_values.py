"""One value that an event carries: what it may be, and how it is read into SI."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite
from typing import Any

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
        value, ``datetime`` for a time with its offset, ``list`` for a list of words, or
        the words to choose from.
    above : float or None
        In SI, a value must be more than this.
    """

    name: str
    what: Dimension | type | tuple[str, ...]
    required: bool = True
    words: str = ""
    above: float | None = None


def read_one(item: Carried, value: Any) -> tuple[str, Any]:
    """Return the name a value is kept under, with its unit, and the value.

    Raises
    ------
    ValueError
        With what would be right.
    """
    if isinstance(item.what, Dimension):
        return item.name + _SUFFIX[item.what], _bounded(item, _quantity(item, value))
    if item.what is int:
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_SLEEVES:
            raise ValueError(expected(item))
        return item.name, value
    if isinstance(item.what, tuple):
        if value not in item.what:
            raise ValueError(expected(item))
        return item.name, value
    if item.what is float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise ValueError(expected(item))
        return item.name, float(value)
    if item.what is datetime:
        return item.name, _time(item, value)
    if not isinstance(value, item.what) or (isinstance(value, str) and not value.strip()):
        raise ValueError(expected(item))
    return item.name, value


def _time(item: Carried, value: Any) -> str:
    """Return a time as it is kept: ISO 8601 in UTC."""
    try:
        found = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        raise ValueError(expected(item)) from None
    if found.tzinfo is None:
        raise ValueError(expected(item))
    return found.astimezone(UTC).isoformat()


def _bounded(item: Carried, value: float) -> float:
    """Refuse what cannot be, in SI: nothing has a length, mass or duration below none."""
    assert isinstance(item.what, Dimension)  # noqa: S101 - narrows the type for the reader too
    if item.above is not None and value <= item.above:
        raise ValueError(f"more than {item.above:g}: {expected(item)}")
    if item.what in _NEVER_NEGATIVE and value < 0:
        raise ValueError(f"0 or more: {expected(item)}")
    return value


def _quantity(item: Carried, value: Any) -> float:
    assert isinstance(item.what, Dimension)  # noqa: S101 - narrows the type for the reader too
    if not isinstance(value, Mapping) or not {"value", "unit"} <= set(value):
        raise ValueError(expected(item))
    number = value["value"]
    if isinstance(number, bool) or not isinstance(number, int | float) or not isfinite(number):
        raise ValueError(expected(item))
    try:
        return parse(float(number), str(value["unit"]), item.what)
    except ValueError:
        raise ValueError(f"a unit of {', '.join(accepted_units(item.what))}") from None


def expected(item: Carried) -> str:
    """Say what would be right for a value."""
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
        datetime: "a time with its offset, such as 2031-03-14T07:00:00+01:00",
        int: f"a whole number from 1 to {MOST_SLEEVES}",
    }
    return words[item.what] + hint
