"""The wall a sleeve would need, as a screening."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.kinds import Choice, Number, Quantity, Text
from qa.calculations.pressures import pressure
from qa.calculations.record import Record
from qa.calculations.scaled import KN_M3, MPA, Scaled
from qa.calculations.sleeves import length
from repairs.domain.soil_load import Ground
from repairs.domain.units import Dimension
from repairs.domain.wall_edition import F1216Edition
from repairs.domain.wall_thickness import PipeCondition, WallInputs, wall_thickness


@dataclass(frozen=True, slots=True)
class Wall:
    """What each equation asks for; see `WallThickness`."""

    thickness_mm: float
    governing: str
    by_equation: Mapping[str, float]
    edition: str
    flags: tuple[str, ...]
    working: tuple[str, ...]


def _ground(
    *,
    groundwater_above_crown: float,
    cover: float,
    soil_weight: float,
    soil_modulus: float,
    live_load: float,
) -> Ground:
    return Ground(groundwater_above_crown, cover, soil_weight, soil_modulus, live_load)


def _wall(given: Mapping[str, Any]) -> Wall:
    found = wall_thickness(
        WallInputs(
            edition=F1216Edition(given["edition"]),
            condition=PipeCondition(given["condition"]),
            diameter_mm=given["diameter"],
            ovality_percent=given["ovality_percent"],
            groundwater_above_invert_m=given["groundwater_above_invert"],
            ground=given["ground"],
            long_term_modulus_mpa=given["long_term_modulus"],
            short_term_modulus_mpa=given["short_term_modulus"],
            long_term_strength_mpa=given["long_term_strength"],
            poisson_ratio=given["poisson_ratio"],
            enhancement=given["enhancement"],
            safety_factor=given["safety_factor"],
        )
    )
    by_equation = {f"{equation}_mm": wall_mm for equation, wall_mm in found.by_equation}
    return Wall(
        found.thickness_mm,
        found.governing,
        by_equation,
        found.edition,
        found.flags,
        found.working,
    )


def _mpa(name: str, meaning: str) -> Scaled:
    return Scaled(name=name, meaning=meaning, units=MPA, low=0.01, high=300_000)


_GROUND = Record(
    name="ground",
    meaning="What lies over the crown; needed when fully deteriorated.",
    required=False,
    fields=(
        Quantity(
            name="groundwater_above_crown",
            meaning="Water level over the crown, below 0 when dry; not the one over the invert.",
            dimension=Dimension.LENGTH,
            low=-10,
            high=50,
        ),
        length("cover", "Soil over the crown.", low=0.1, high=50),
        Scaled(name="soil_weight", meaning="Weight of the soil.", units=KN_M3, low=5, high=40),
        _mpa("soil_modulus", "Modulus of soil reaction; an engineer's figure."),
        pressure("live_load", "Traffic at the crown."),
    ),
    build=_ground,
)


def _of(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


WALL_WORDS = {
    "unusual_ovality": "The ovality is larger than usual.",
    "unusual_safety_factor": "The safety factor is outside 1.5 to 2.",
    "ground_not_used": "A pipe that is partially deteriorated carries the soil itself.",
}

WALL_THICKNESS = Calculation(
    name="wall-thickness",
    answers="Which wall would a sleeve need by ASTM F1216 Appendix X1, as a screening?",
    takes=(
        Text(name="edition", meaning="Edition of the practice, as F1216-22.", longest=30),
        Choice(
            name="condition",
            meaning="What the host pipe still carries; there is no default.",
            choices=tuple(PipeCondition),
        ),
        Quantity(
            name="diameter",
            meaning="Mean inside diameter of the host pipe.",
            dimension=Dimension.DIAMETER,
            low=50,
            high=3000,
        ),
        Number(name="ovality_percent", meaning="Ovality of the host pipe.", low=0, high=50),
        length("groundwater_above_invert", "Water level over the invert.", high=50),
        _GROUND,
        _mpa("long_term_modulus", "E_L over the design life; not the short-term one."),
        _mpa("short_term_modulus", "E as tested."),
        _mpa("long_term_strength", "Long-term flexural strength."),
        Number(name="poisson_ratio", meaning="Poisson's ratio.", low=0, high=0.499),
        Number(name="enhancement", meaning="K, usually 7.", low=0.1, high=20),
        Number(name="safety_factor", meaning="N, usually 1.5 to 2.", low=1, high=10),
    ),
    run=_wall,
    example={
        "edition": "F1216-22",
        "condition": "fully_deteriorated",
        "diameter": _of(8, "in"),
        "ovality_percent": 2,
        "groundwater_above_invert": _of(1.7032, "m"),
        "ground": {
            "groundwater_above_crown": _of(1.5, "m"),
            "cover": _of(2.5, "m"),
            "soil_weight": _of(18.9, "kN/m3"),
            "soil_modulus": _of(6.9, "MPa"),
            "live_load": _of(5, "kPa"),
        },
        "long_term_modulus": _of(1.5, "GPa"),
        "short_term_modulus": _of(3, "GPa"),
        "long_term_strength": _of(20, "MPa"),
        "poisson_ratio": 0.3,
        "enhancement": 7,
        "safety_factor": 2,
    },
    source="ASTM F1216 Appendix X1, as read in one textbook; the appendix was not at hand.",
    caution=(
        "A screening, not a design: design belongs to a licensed engineer. The ends of a short "
        "sleeve are not the full ring that the equations assume."
    ),
    page="docs/calculations/wall_thickness.md",
    words=WALL_WORDS,
)
