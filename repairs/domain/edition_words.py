"""What one edition of a record changed, in words."""

from collections.abc import Mapping
from typing import Any

from repairs.domain.units import Dimension, words

_DIMENSIONS = {
    "m": (Dimension.LENGTH, 2),
    "mm": (Dimension.DIAMETER, 0),
    "kpa": (Dimension.PRESSURE, 1),
}
"""By the end of a column's name: what it measures, and the usual digits behind the point."""
_MOST_DIGITS = 6


def changed_words(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """Say each value that differs: 'distance 12.30 m (40.354 ft) became 13.20 m (43.307 ft)'."""
    return tuple(
        _words(name, before.get(name), value)
        for name, value in after.items()
        if before.get(name) != value
    )


def _words(name: str, old: Any, new: Any) -> str:
    base, _, last = name.rpartition("_")
    if base and last in _DIMENSIONS:
        dimension, digits = _DIMENSIONS[last]
        # A correction smaller than the usual digits must still be seen.
        while digits < _MOST_DIGITS and _rounded(old, digits) == _rounded(new, digits):
            digits += 1
        what = base.replace("_", " ")
        said = [_measured(each, dimension, digits) for each in (old, new)]
    else:
        unit = "%" if base and last == "percent" else ""
        what = (base if unit else name.removesuffix("_id")).replace("_", " ")
        said = [_shown(each, f" {unit}".rstrip()) for each in (old, new)]
    return f"{what} {said[0]} became {said[1]}"


def _rounded(value: Any, digits: int) -> Any:
    return round(value, digits) if isinstance(value, float) else value


def _measured(value: Any, dimension: Dimension, digits: int) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _shown(value, "")
    return words(float(value), dimension, digits)


def _shown(value: Any, unit: str) -> str:
    if value is None or value in ("", []):
        return "(nothing)"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:g}{unit}"
    if isinstance(value, list):
        return f"{len(value)} of them"
    return str(value)
