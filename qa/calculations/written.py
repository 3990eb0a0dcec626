"""Writes a result of the core as it leaves: SI with the US value beside it.

In the core a number's name carries its unit; here the unit leaves the name and stands
beside the value.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

import numpy as np

from repairs.domain.units import Dimension, render

_DIGITS = 12
"""Significant digits: what lies beyond is the noise of binary arithmetic."""
_KPA_A_MINUTE = "kPa/min"
_SUFFIXES: Mapping[str, Dimension | str] = {
    "_kpa_per_min": _KPA_A_MINUTE,
    "_kj_mol": "kJ/mol",
    "_kg_m3": Dimension.DENSITY,
    "_kpa": Dimension.PRESSURE,
    "_mm": Dimension.DIAMETER,
    "_m": Dimension.LENGTH,
    "_c": Dimension.TEMPERATURE,
    "_k": Dimension.TEMPERATURE_DIFFERENCE,
    "_kg": Dimension.MASS,
    "_l": Dimension.VOLUME,
    "_min": Dimension.DURATION,
    "_minutes": Dimension.DURATION,
    "_s": "s",
}
"""Endings of names; the longer one of two that fit stands first."""
_INSTEAD = {"_kpa_per_min": "_a_minute", "_minutes": "_time"}
TOLD_BESIDE = frozenset({"working"})
"""Members of a result that stand beside the figures, not among them."""


def written(result: Any) -> dict[str, Any]:
    """Return the figures of a result, each under its name without the unit.

    Parameters
    ----------
    result
        A dataclass of the core, or a mapping of such names.

    Returns
    -------
    dict
        Ready for JSON; what is not known is null.
    """
    pairs = (
        result.items()
        if isinstance(result, Mapping)
        else [(field.name, getattr(result, field.name)) for field in fields(result)]
    )
    return dict(_members(pairs))


def _members(pairs: Iterable[tuple[str, Any]]) -> Iterator[tuple[str, Any]]:
    """Take the unit off each name; where two would be one (kg and L), say what is measured."""
    found = [(*_bare(name), value) for name, value in pairs if name not in TOLD_BESIDE]
    often = Counter(bare for bare, _, _ in found)
    for bare, unit, value in found:
        name = f"{bare}_{unit}" if often[bare] > 1 and unit else bare
        yield name, _plain(value) if unit is None else _each(value, unit)


def _bare(name: str) -> tuple[str, Dimension | str | None]:
    """Part a name from its unit."""
    if name == "minutes":
        return "time", Dimension.DURATION
    for suffix, unit in _SUFFIXES.items():
        if name.endswith(suffix):
            return name.removesuffix(suffix) + _INSTEAD.get(suffix, ""), unit
    return name, None


def _each(value: Any, unit: Dimension | str) -> Any:
    if value is None:
        return None
    if isinstance(value, tuple | list | np.ndarray):
        return [_each(one, unit) for one in value]
    if not math.isfinite(value):
        return None
    return _quantity(float(f"{value:.{_DIGITS}g}"), unit)


def _quantity(value: float, unit: Dimension | str) -> dict[str, Any]:
    if isinstance(unit, Dimension):
        return dict(render(value, unit))
    if unit == _KPA_A_MINUTE:
        us = {**render(value, Dimension.PRESSURE)["us"], "unit": "psi/min"}
        return {"value": value, "unit": unit, "us": us}
    return {"value": value, "unit": unit}


def _plain(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    if is_dataclass(value) or isinstance(value, Mapping):
        return written(value)
    if isinstance(value, tuple | list | np.ndarray):
        return [_plain(one) for one in value]
    if isinstance(value, Enum | datetime):
        return value.value if isinstance(value, Enum) else value.isoformat()
    is_unknown = isinstance(value, float) and not math.isfinite(value)
    return None if is_unknown else value
