"""How long a reach of pipe must hold air."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.kinds import Choice, Quantity
from qa.calculations.sleeves import length
from repairs.domain.air_test import HIGHEST_KPA, AirTestInputs, TimedDrop, WaterDatum, air_test
from repairs.domain.air_test_working import CAUTION, REACH_ONLY
from repairs.domain.en1610_air_test import (
    En1610Inputs,
    En1610Method,
    MinuteRounding,
    PipeWall,
    en1610_air_test,
)
from repairs.domain.units import Dimension

_KPA_A_MBAR = 0.1


@dataclass(frozen=True, slots=True)
class En1610Test:
    """Times, pressures and the working; see `En1610AirTest`."""

    time_min: float
    unrounded_min: float
    settle_min: float
    start_kpa: float
    drop_kpa: float
    working: tuple[str, ...]


def _reach(given: Mapping[str, Any]) -> Any:
    owner_min = given["owner_time"]
    return air_test(
        AirTestInputs(
            diameter_mm=given["diameter"],
            length_m=given["length"],
            drop=TimedDrop(given["drop"]),
            groundwater_m=given["groundwater"],
            groundwater_datum=WaterDatum(given["groundwater_datum"]),
            owner_time_s=None if owner_min is None else owner_min * 60.0,
            highest_kpa=given["highest_pressure"],
        )
    )


def _en1610(given: Mapping[str, Any]) -> En1610Test:
    found = en1610_air_test(
        En1610Inputs(
            nominal_mm=given["nominal_diameter"],
            method=En1610Method(given["method"]),
            wall=PipeWall(given["wall"]),
            rounding=MinuteRounding(given["rounding"]),
            is_manhole=given["tested"] == "manhole",
        )
    )
    return En1610Test(
        time_min=found.time_min,
        unrounded_min=found.unrounded_min,
        settle_min=found.settle_min,
        start_kpa=found.start_mbar * _KPA_A_MBAR,
        drop_kpa=found.drop_mbar * _KPA_A_MBAR,
        working=found.working,
    )


def _diameter(name: str, meaning: str) -> Quantity:
    return Quantity(name=name, meaning=meaning, dimension=Dimension.DIAMETER, low=50, high=3000)


AIR_WORDS = {
    "too_large": "From 36 in on joints are tested one by one.",
    "owner_time_shorter": "The contract's own time is shorter than the practice's, which counts.",
    "over_pressure": "The groundwater would need more than the highest pressure allowed.",
}
AIR_TEST = Calculation(
    name="air-test",
    answers="How long must a reach of pipe hold air after ASTM F1417, and at which pressures?",
    takes=(
        _diameter("diameter", "Inside diameter of the pipe."),
        length("length", "Length under test.", low=0.5, high=5_000),
        Choice(
            name="drop",
            meaning="The drop that is timed; there is no default.",
            choices=tuple(TimedDrop),
        ),
        length("groundwater", "Average groundwater above the datum.", high=50),
        Choice(
            name="groundwater_datum",
            meaning="From where the contract measures the groundwater; there is no default.",
            choices=tuple(WaterDatum),
        ),
        Quantity(
            name="owner_time",
            meaning="The contract's own time for this reach, if it has one.",
            dimension=Dimension.DURATION,
            low=0.01,
            high=10_000,
            required=False,
        ),
        Quantity(
            name="highest_pressure",
            meaning="Highest pressure allowed in the line; otherwise 9 psi.",
            dimension=Dimension.PRESSURE,
            low=1,
            high=200,
            required=False,
            default=HIGHEST_KPA,
        ),
    ),
    run=_reach,
    example={
        "diameter": {"value": 8, "unit": "in"},
        "length": {"value": 400, "unit": "ft"},
        "drop": "half_psi",
        "groundwater": {"value": 2, "unit": "ft"},
        "groundwater_datum": "centre_line",
    },
    source="ASTM F1417: a table read in a copy, equations from memory and confirmed by it.",
    caution=f"{REACH_ONLY} {CAUTION}",
    page="docs/calculations/air_test.md",
    words=AIR_WORDS,
)
EN1610_AIR_TEST = Calculation(
    name="en1610-air-test",
    answers="How long must a reach of pipe or a manhole hold air after EN 1610?",
    takes=(
        _diameter("nominal_diameter", "Nominal diameter DN."),
        Choice(
            name="method",
            meaning="Test pressure and drop; the contract chooses.",
            choices=tuple(En1610Method),
        ),
        Choice(name="wall", meaning="What the wall is of; no default.", choices=tuple(PipeWall)),
        Choice(
            name="rounding",
            meaning="How the time becomes whole minutes; texts differ, so no default.",
            choices=tuple(MinuteRounding),
        ),
        Choice(name="tested", meaning="What is tested.", choices=("reach", "manhole")),
    ),
    run=_en1610,
    example={
        "nominal_diameter": {"value": 300, "unit": "mm"},
        "method": "LC",
        "wall": "wet_concrete_or_other",
        "rounding": "nearest",
        "tested": "reach",
    },
    source="EN 1610 table 3 with its formula, read in two reprints.",
    caution=f"{REACH_ONLY} {CAUTION}",
    page="docs/calculations/en1610_air_test.md",
)
