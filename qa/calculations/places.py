"""Where the sleeve will sit, and whether two distances agree."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.field import Wrong
from qa.calculations.kinds import Number, Quantity
from qa.calculations.sleeves import length
from repairs.domain.location import (
    ErrorBudget,
    coverage_probability,
    distances_agree,
    hose_mark_m,
    opposite_distances_agree,
    placing_allowance_m,
    sigma_m,
)
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension, words

_FARTHEST_M = 5_000.0


@dataclass(frozen=True, slots=True)
class Placing:
    """Where to mark, how far off the sleeve may sit, and how surely it covers."""

    hose_mark_m: float
    standard_error_m: float
    coverage_probability: float
    allowance_m: float
    working: tuple[str, ...]


def _offset(name: str, meaning: str) -> Quantity:
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.LENGTH,
        low=-50,
        high=50,
        required=False,
        default=0.0,
    )


def _place(given: Mapping[str, Any]) -> Placing:
    budget = ErrorBudget(
        distance_m=given["distance"],
        camera_fraction=given["camera_fraction"],
        hose_fraction=given["hose_fraction"],
        zero_m=given["zero_error"],
        mark_m=given["mark_error"],
        place_m=given["place_error"],
    )
    error_m = sigma_m(budget)
    sleeve_m, extent_m, coverage_m = (given[n] for n in ("sleeve", "defect_extent", "coverage"))
    chance = coverage_probability(sleeve_m, extent_m, coverage_m, error_m, given["bias"])
    offsets_m = given["camera_zero_offset"], given["hose_zero_to_packer_centre"], given["slack"]
    mark_m = hose_mark_m(budget.distance_m, *offsets_m)
    allowance_m = placing_allowance_m(error_m, given["probability"])
    play_m = (sleeve_m - extent_m) / 2.0 - coverage_m
    return Placing(
        hose_mark_m=mark_m,
        standard_error_m=error_m,
        coverage_probability=chance,
        allowance_m=allowance_m,
        working=(
            (
                f"Hose mark = {budget.distance_m:g} + {offsets_m[0]:g} camera zero + "
                f"{offsets_m[1]:g} hose zero to packer centre + {offsets_m[2]:g} slack = "
                f"{words(mark_m, Dimension.LENGTH, 3)}."
            ),
            (
                f"Standard error = root of ({budget.camera_fraction:g} x {budget.distance_m:g})^2 "
                f"+ ({budget.hose_fraction:g} x {budget.distance_m:g})^2 + {budget.zero_m:.3f}^2 + "
                f"{budget.mark_m:.3f}^2 + {budget.place_m:.3f}^2 = "
                f"{words(error_m, Dimension.LENGTH, 3)}."
            ),
            (
                f"Play a = ({sleeve_m:.3f} - {extent_m:.3f}) m / 2 - {coverage_m:.3f} m = "
                f"{words(play_m, Dimension.LENGTH, 3)}; "
                f"{_chance_words(play_m, chance, given['bias'])}"
            ),
            (
                f"To be covered with a chance of {given['probability']:g}, allow "
                f"{words(allowance_m, Dimension.LENGTH, 3)} at either end."
            ),
        ),
    )


def _chance_words(play_m: float, chance: float, bias_m: float) -> str:
    if play_m < 0.0:
        return (
            "it is negative: the sleeve is too short to cover the defect with its coverage, "
            f"wherever it lies, by {words(-2.0 * play_m, Dimension.LENGTH, 3)}."
        )
    return f"P = Phi((a - b)/s) - Phi((-a - b)/s) = {chance:.4f}, with a bias b of {bias_m:g} m."


def _agree(given: Mapping[str, Any]) -> Any:
    allowed = given["run_length"], given["tolerance_fraction"], given["tolerance"]
    tape_m, other_m = given["tape"], given["from_other_end"]
    if (tape_m is None) == (other_m is None):
        found = "neither" if tape_m is None else "both"
        raise Wrong(Fault("tape, from_other_end", found, "one of the two"))
    if tape_m is not None:
        return distances_agree(given["counter"], tape_m, *allowed)
    return opposite_distances_agree(given["counter"], other_m, *allowed)


def _error(name: str, meaning: str) -> Quantity:
    return length(name, meaning, high=10)


def _distance(name: str, meaning: str, *, required: bool = True) -> Quantity:
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.LENGTH,
        low=0,
        high=_FARTHEST_M,
        required=required,
    )


def _ft(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "ft"}


LOCATION = Calculation(
    name="location",
    answers="Where does the mark go on the hose, and how surely does the sleeve cover the defect?",
    takes=(
        _distance("distance", "Distance of the defect's centre by the camera's counter."),
        _offset("camera_zero_offset", "What the counter missed at its zero; otherwise 0."),
        _offset("hose_zero_to_packer_centre", "From the hose's zero to the packer's centre."),
        _offset("slack", "Slack of the hose; otherwise 0."),
        Number(name="camera_fraction", meaning="Counter's share of error.", low=0, high=0.2),
        Number(name="hose_fraction", meaning="Hose mark's share of error.", low=0, high=0.2),
        _error("zero_error", "Standard error of the zero point."),
        _error("mark_error", "Standard error of the mark."),
        _error("place_error", "Standard error of placing."),
        length("sleeve", "Length of the sleeve.", low=0.1, high=20),
        length("defect_extent", "Length of the defect along the pipe.", high=20),
        length("coverage", "What the contract wants past either end.", high=10),
        _offset("bias", "A known systematic error of the place; otherwise 0."),
        Number(
            name="probability",
            meaning="Chance for which the allowance is wanted; otherwise 0.95.",
            low=0.01,
            high=0.9999,
            required=False,
            default=0.95,
        ),
    ),
    run=_place,
    example={
        "distance": _ft(100),
        "camera_fraction": 0.0025,
        "hose_fraction": 0.002,
        "zero_error": _ft(0.1),
        "mark_error": _ft(0.1),
        "place_error": _ft(0.15),
        "sleeve": _ft(4),
        "defect_extent": _ft(1),
        "coverage": _ft(0.5),
    },
    source="Propagation of independent errors; normal distribution.",
    caution="A distance proves no coverage: the camera must see both ends of the sleeve.",
    page="docs/calculations/location.md",
)
DISTANCES = Calculation(
    name="distances",
    answers="Do counter and tape agree, or the distances from both ends of a run?",
    takes=(
        _distance("counter", "Distance by the counter."),
        _distance("tape", "The same by tape, from the same end.", required=False),
        _distance("from_other_end", "Or the distance from the other end.", required=False),
        length("run_length", "Length of the run.", low=0.1, high=_FARTHEST_M),
        Number(
            name="tolerance_fraction",
            meaning="Share of the run that is allowed: the contract's.",
            low=0,
            high=0.5,
        ),
        length("tolerance", "Length that is allowed; the larger of the two counts.", high=10),
    ),
    run=_agree,
    example={
        "counter": {"value": 14.2, "unit": "m"},
        "tape": {"value": 14.35, "unit": "m"},
        "run_length": {"value": 43.5, "unit": "m"},
        "tolerance_fraction": 0.005,
        "tolerance": _ft(1),
    },
    source="A published specification: 0.5 % of the reach or 1 ft, whichever is greater.",
    caution="Agreement proves no coverage: the camera must see both ends of the sleeve.",
    page="docs/calculations/location.md",
)
