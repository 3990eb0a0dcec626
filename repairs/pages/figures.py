"""A prescription's figures in both systems of units, as a crew reads them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from repairs.domain.units import Dimension, words


@dataclass(frozen=True, slots=True)
class Figure:
    """A name and what belongs to it."""

    name: str
    words: str


def figures(result: Mapping[str, Any]) -> tuple[Figure, ...]:
    """Return what is to be installed and how; what was not calculated is left out."""
    resin: Mapping[str, Any] = result.get("resin") or {}
    window: Mapping[str, Any] = result.get("window") or {}
    found = (
        Figure("Kit", kit_words(result)),
        Figure("Part A", _mass_and_volume(resin, "a")),
        Figure("Part B", _mass_and_volume(resin, "b")),
        Figure("Inflate to", _given(window.get("target_kpa"), Dimension.PRESSURE)),
        Figure("Keep between", _window(window)),
        Figure("Working time", _given(result.get("working_min"), Dimension.DURATION, 0)),
        Figure("Cure by the chart", _given(result.get("cure_min"), Dimension.DURATION, 0)),
    )
    return tuple(each for each in found if each.words)


def kit_words(result: Mapping[str, Any]) -> str:
    """Return how many sleeves of which kit: ``1 x 1.20 m (3.937 ft), KIT-200``."""
    if "kit" not in result:
        return ""
    length = words(float(result["sleeve_length_m"]), Dimension.LENGTH, 2)
    return f"{result['sleeve_count']} x {length}, {result.get('kit_name') or result['kit']}"


def pressure_words(result: Mapping[str, Any]) -> str:
    """Return the pressure to inflate to, with what it must stay between."""
    window: Mapping[str, Any] = result.get("window") or {}
    target = _given(window.get("target_kpa"), Dimension.PRESSURE)
    return f"{target}; keep {_window(window)}" if target else ""


def _window(window: Mapping[str, Any]) -> str:
    if window.get("low_kpa") is None or window.get("high_kpa") is None:
        return ""
    low, high = (words(float(window[name]), Dimension.PRESSURE) for name in ("low_kpa", "high_kpa"))
    return f"{low} to {high}"


def _mass_and_volume(resin: Mapping[str, Any], part: str) -> str:
    mass, volume = resin.get(f"part_{part}_kg"), resin.get(f"part_{part}_l")
    parts = (_given(mass, Dimension.MASS, 2), _given(volume, Dimension.VOLUME, 2))
    return ", ".join(each for each in parts if each)


def _given(value: Any, dimension: Dimension, digits: int = 1) -> str:
    return "" if value is None else words(float(value), dimension, digits)
