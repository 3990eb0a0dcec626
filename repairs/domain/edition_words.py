"""What one edition of a record changed, in words."""

from collections.abc import Mapping
from typing import Any

_UNITS = {"m": "m", "mm": "mm", "kpa": "kPa", "percent": "%"}


def changed_words(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """Say each value that differs, such as 'distance 12.3 m became 13.2 m'."""
    return tuple(
        _words(name, before.get(name), value)
        for name, value in after.items()
        if before.get(name) != value
    )


def _words(name: str, old: Any, new: Any) -> str:
    base, _, last = name.rpartition("_")
    if base and last in _UNITS:
        what, unit = base.replace("_", " "), f" {_UNITS[last]}"
    else:
        what, unit = name.removesuffix("_id").replace("_", " "), ""
    return f"{what} {_shown(old, unit)} became {_shown(new, unit)}"


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
