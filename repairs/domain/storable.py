"""What a record can hold: text without NUL, finite numbers, nesting of a sane depth.

JSON allows more than a database does; what it would refuse is named here, before
anything is written, and the same on every database.
"""

from collections.abc import Mapping
from math import isfinite
from typing import Any

DEEPEST = 20
"""Levels of nesting; a field event needs three."""
LARGEST_INT = 2**63 - 1
FIRST_YEAR, LAST_YEAR = 1970, 2100
"""A device that lost its time says 1970; beyond these years nothing can be reckoned with."""


def unstorable(value: Any, deep: int = DEEPEST) -> str | None:
    """Return what in a JSON value no record can hold, in plain words, or None.

    Parameters
    ----------
    value : any JSON value
        Text, number, list or mapping, as it was read.
    deep : int
        Levels of nesting that are still allowed.
    """
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, float):
        return None if isfinite(value) else "a number that is not finite"
    if isinstance(value, int):
        return None if abs(value) <= LARGEST_INT else "a number of more than 18 digits"
    if isinstance(value, Mapping | list):
        if not deep:
            return f"more than {DEEPEST} levels of nesting"
        inner = [*value.keys(), *value.values()] if isinstance(value, Mapping) else value
        return next((found for each in inner if (found := unstorable(each, deep - 1))), None)
    return None


def _text(value: str) -> str | None:
    if "\x00" in value:
        return "a NUL character"
    if any("\ud800" <= letter <= "\udfff" for letter in value):
        return "half of a character (a lone surrogate)"
    return None
