"""Writes a result of the core as it leaves: SI with the US value beside it.

In the core a number's name carries its unit; here the unit leaves the name and stands
beside the value.
"""

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

import numpy as np

from repairs.domain.units import Dimension, render

_A_MINUTE = "_kpa_per_min"
_RENDERED = {
    "_kpa": Dimension.PRESSURE,
    "_mm": Dimension.DIAMETER,
    "_kg_m3": Dimension.DENSITY,
    "_m": Dimension.LENGTH,
    "_c": Dimension.TEMPERATURE,
    "_k": Dimension.TEMPERATURE_DIFFERENCE,
    "_kg": Dimension.MASS,
    "_l": Dimension.VOLUME,
    "_min": Dimension.DURATION,
    "_minutes": Dimension.DURATION,
}
_PLAIN = {"_s": "s", "_kj_mol": "kJ/mol"}
"""Units that read the same everywhere."""
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
    return dict(_member(name, value) for name, value in pairs if name not in TOLD_BESIDE)


def _member(name: str, value: Any) -> tuple[str, Any]:
    if name.endswith(_A_MINUTE):
        return name.removesuffix(_A_MINUTE) + "_a_minute", _each(value, _a_minute)
    for suffix, dimension in _RENDERED.items():
        if name.endswith(suffix) and name != suffix[1:]:
            return name.removesuffix(suffix), _each(value, lambda v, d=dimension: render(v, d))
    for suffix, unit in _PLAIN.items():
        if name.endswith(suffix):
            bare = name.removesuffix(suffix)
            return bare, _each(value, lambda v, u=unit: {"value": v, "unit": u})
    return name, _plain(value)


def _a_minute(kpa_per_min: float) -> dict[str, Any]:
    shown = render(kpa_per_min, Dimension.PRESSURE)
    us = {"value": shown["us"]["value"], "unit": "psi/min"}
    return {"value": kpa_per_min, "unit": "kPa/min", "us": us}


def _each(value: Any, write: Any) -> Any:
    if value is None:
        return None
    if isinstance(value, tuple | list | np.ndarray):
        return [_each(one, write) for one in value]
    return write(float(value)) if math.isfinite(value) else None


def _plain(value: Any) -> Any:
    if is_dataclass(value) or isinstance(value, Mapping):
        return written(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple | list | np.ndarray):
        return [_plain(one) for one in value]
    if isinstance(value, np.generic):
        return _plain(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
