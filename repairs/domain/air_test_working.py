"""A line air test, as an engineer would write it."""

import math
from dataclasses import dataclass

from repairs.domain.units import FOOT_M, INCH_MM, Dimension, words

REACH_ONLY = (
    "This tests a reach of pipe between two plugs: never one sleeve, and never a packer's seal."
)
CAUTION = (
    "Plugs under air can kill: brace both ends, keep everybody out of the manholes while there is "
    "pressure, and let local codes and competent persons decide."
)


@dataclass(frozen=True, slots=True)
class AirTestFigures:
    """K, seconds and gauge pressures of a test after ASTM F1417."""

    k: float
    practice_s: float
    time_s: float
    head_kpa: float
    fill_kpa: float
    start_kpa: float
    end_kpa: float


def air_test_working(
    figures: AirTestFigures,
    *,
    reach_mm_m: tuple[float, float],
    drop_psi: float,
    water: tuple[float, str],
    owner_time_s: float | None,
    highest_kpa: float,
) -> tuple[str, ...]:
    """Write formula, numbers, units and source of an air test, line by line."""
    diameter_in, length_ft = reach_mm_m[0] / INCH_MM, reach_mm_m[1] / FOOT_M
    water_m, datum = water
    owner = (
        "The contract states no time of its own."
        if owner_time_s is None
        else f"The contract's own time is {clock(owner_time_s)}; the longer of both counts."
    )
    within = figures.fill_kpa <= highest_kpa
    do = "Fill to" if within else "DO NOT FILL. The test would ask for"
    return (
        (
            f"K = 0.000419 D L = 0.000419 x {diameter_in:.2f} in x {length_ft:.1f} ft, at least 1: "
            f"{figures.k:.4f} (ASTM F1417)."
        ),
        (
            f"T = 0.085 D K / 0.0015 x {drop_psi:g} = {figures.practice_s:.1f} s "
            f"({clock(figures.practice_s)}, rounded up) for a drop of {drop_psi:g} psi."
        ),
        f"{owner} Time: {clock(figures.time_s)}.",
        (
            f"Groundwater {words(water_m, Dimension.LENGTH, 2)} above the {datum} presses with "
            f"{_p(figures.head_kpa)}; it is added to every pressure."
        ),
        (
            f"{do} {_p(figures.fill_kpa)}, let it settle for 2 min or more, time from "
            f"{_p(figures.start_kpa)} to {_p(figures.end_kpa)}."
        ),
        (
            f"That is {'within' if within else 'ABOVE'} the highest pressure allowed, "
            f"{_p(highest_kpa)}."
        ),
        "With no loss at all in the first quarter of the time some codes let the test end there.",
        REACH_ONLY,
        CAUTION,
    )


def clock(seconds: float) -> str:
    """Write seconds as minutes and whole seconds, rounded up so that no test is short."""
    # A millionth of a second: conversion of units must not add a second.
    whole = math.ceil(seconds - 1e-6)
    return f"{whole // 60}:{whole % 60:02d}"


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE)
