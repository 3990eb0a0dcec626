"""How alike two pieces of work are: by crew, by class of diameter, by class of temperature."""

from bisect import bisect_left
from collections.abc import Mapping
from enum import StrEnum
from itertools import pairwise
from math import floor
from typing import TypeAlias

Class: TypeAlias = tuple[str, str, str]
"""Crew, class of diameter, class of temperature; empty where it is not asked."""


class Alike(StrEnum):
    """What the observations behind a forecast share with the repair, closest first."""

    CREW_DIAMETER_TEMPERATURE = "crew, diameter and temperature"
    CREW_DIAMETER = "crew and diameter"
    CREW = "crew"
    DIAMETER_TEMPERATURE = "diameter and temperature"
    DIAMETER = "diameter"
    STEP = "nothing but the step"
    CONTRACT = "no observations: the contract's own number"


_SHARED: Mapping[Alike, frozenset[str]] = {
    Alike.CREW_DIAMETER_TEMPERATURE: frozenset({"crew", "diameter", "temperature"}),
    Alike.CREW_DIAMETER: frozenset({"crew", "diameter"}),
    Alike.CREW: frozenset({"crew"}),
    Alike.DIAMETER_TEMPERATURE: frozenset({"diameter", "temperature"}),
    Alike.DIAMETER: frozenset({"diameter"}),
    Alike.STEP: frozenset(),
}
_WORK = (Alike.CREW_DIAMETER, Alike.DIAMETER, Alike.STEP)
RUNGS: Mapping[str, tuple[Alike, ...]] = {
    "set-up": _WORK,
    "working": _WORK,
    "cure": (
        Alike.CREW_DIAMETER_TEMPERATURE,
        Alike.CREW_DIAMETER,
        Alike.DIAMETER_TEMPERATURE,
        Alike.DIAMETER,
        Alike.STEP,
    ),
    "finish": _WORK,
    "travel": (Alike.CREW, Alike.STEP),
}
"""For each step, from the closest class to the widest. Temperature moves the cure alone."""

_DIAMETERS_MM = (200, 300, 450, 600)
"""Upper ends of the classes; common practice, no source. The packers of one class are alike."""
_BAND_K = 5
"""Width of a class of temperature: about the step of a chart; common practice, no source."""


def diameter_class(diameter_mm: float) -> str:
    """Return the class of a diameter, in words."""
    names = (
        f"up to {_DIAMETERS_MM[0]} mm",
        *(f"over {low} to {high} mm" for low, high in pairwise(_DIAMETERS_MM)),
        f"over {_DIAMETERS_MM[-1]} mm",
    )
    return names[bisect_left(_DIAMETERS_MM, diameter_mm)]


def temperature_class(wall_c: float) -> str:
    """Return the class of a wall's temperature, in words."""
    low = floor(wall_c / _BAND_K) * _BAND_K
    return f"{low} to below {low + _BAND_K} °C"


def class_of(
    alike: Alike, crew: str, diameter_mm: float | None, wall_c: float | None
) -> Class | None:
    """Return the class a piece of work falls in; None where what is asked is not known."""
    shared = _SHARED[alike]
    parts = (
        ("crew", crew or None),
        ("diameter", None if diameter_mm is None else diameter_class(diameter_mm)),
        ("temperature", None if wall_c is None else temperature_class(wall_c)),
    )
    if any(part is None for name, part in parts if name in shared):
        return None
    of_crew, of_diameter, of_wall = (part or "" if name in shared else "" for name, part in parts)
    return of_crew, of_diameter, of_wall
