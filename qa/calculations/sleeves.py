"""How long a sleeve, how many, and how much resin."""

from collections.abc import Mapping
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.kinds import Choice, Number, Quantity
from qa.calculations.record import ListOf
from repairs.domain.resin import RatioBasis, ResinInputs, resin_masses
from repairs.domain.sleeve_fit import sleeve_fit
from repairs.domain.units import Dimension


def length(name: str, meaning: str, *, low: float = 0.0, high: float = 100.0) -> Quantity:
    """Return a field for a length along the pipe that must be sent."""
    return Quantity(name=name, meaning=meaning, dimension=Dimension.LENGTH, low=low, high=high)


def _density(name: str, meaning: str, *, required: bool = True) -> Quantity:
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.DENSITY,
        low=500,
        high=4000,
        required=required,
    )


def _diameter(name: str, meaning: str, low: float, high: float) -> Quantity:
    return Quantity(name=name, meaning=meaning, dimension=Dimension.DIAMETER, low=low, high=high)


def _share(name: str, meaning: str, high: float = 1.0) -> Number:
    return Number(name=name, meaning=meaning, low=0, high=high)


def _fit(given: Mapping[str, Any]) -> Any:
    return sleeve_fit(
        given["defect_extent"],
        given["coverage"],
        given["allowance"],
        given["overlap"],
        given["stock_lengths"],
    )


def _resin(given: Mapping[str, Any]) -> Any:
    return resin_masses(
        ResinInputs(
            diameter_mm=given["diameter"],
            length_m=given["length"],
            thickness_mm=given["thickness"],
            fibre_volume_fraction=given["fibre_volume_fraction"],
            density_mixed_kg_m3=given["density_mixed"],
            density_a_kg_m3=given["density_a"],
            density_b_kg_m3=given["density_b"],
            ratio_a=given["ratio_a"],
            ratio_b=given["ratio_b"],
            ratio_basis=RatioBasis(given["ratio_basis"]),
            host_loss_fraction=given["host_loss_fraction"],
            waste_fraction=given["waste_fraction"],
            density_fibre_kg_m3=given["density_fibre"],
        )
    )


RESIN_WORDS = {
    "unusual_fibre_share": "The share of glass is outside 15 to 55 % by volume.",
    "unusual_density": "The density of the mixed resin is outside 1050 to 1350 kg/m3.",
    "unusual_thickness": "The wall is thinner than 2 mm or thicker than 15 mm.",
    "unusual_waste": "The waste is more than 30 %.",
    "unusual_fibre_mass_share": "The share of glass is outside 30 to 75 % by mass.",
    "densities_disagree": "The density of the mix is more than 5 % off that of its parts.",
}
"""Plain words for what looks odd. The bounds are from memory."""


def _quantity(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


SLEEVE_FIT = Calculation(
    name="sleeve-fit",
    answers="Which sleeve from stock covers the defect, and how many of it?",
    takes=(
        length("defect_extent", "Length of the defect along the pipe."),
        length("coverage", "What the contract wants past either end.", high=10),
        length("allowance", "Placing error to allow for at either end; see location.", high=10),
        length("overlap", "Overlap of two sleeves in a row: the contract's.", high=10),
        ListOf(
            name="stock_lengths",
            meaning="Lengths that can be had.",
            item=length("length", "One of them.", low=0.1, high=20),
            fewest=1,
            most=50,
        ),
    ),
    run=_fit,
    example={
        "defect_extent": _quantity(0.2, "m"),
        "coverage": _quantity(1, "ft"),
        "allowance": _quantity(0.1, "m"),
        "overlap": _quantity(0.15, "m"),
        "stock_lengths": [_quantity(0.6, "m"), _quantity(0.9, "m"), _quantity(1.2, "m")],
    },
    source="Arithmetic; coverage and overlap are the contract's.",
    caution="A long enough sleeve proves no coverage: the camera must see both ends.",
    page="docs/calculations/sleeve_fit.md",
)
RESIN = Calculation(
    name="resin",
    answers="How much resin does a sleeve take, and how much of each part?",
    takes=(
        _diameter("diameter", "Inside diameter of the host pipe.", 50, 3000),
        length("length", "Length of the sleeve.", low=0.05, high=50),
        _diameter("thickness", "Wall of the finished sleeve.", 0.5, 50),
        _share("fibre_volume_fraction", "Share of the wall that is glass, by volume.", 0.9),
        _density("density_mixed", "Density of the mixed resin."),
        _density("density_a", "Density of part A."),
        _density("density_b", "Density of part B."),
        Number(name="ratio_a", meaning="Part A of the maker's ratio.", low=0.001, high=1000),
        Number(name="ratio_b", meaning="Part B of the maker's ratio.", low=0.001, high=1000),
        Choice(
            name="ratio_basis",
            meaning="What the ratio counts; there is no default.",
            choices=tuple(RatioBasis),
        ),
        _share("host_loss_fraction", "Share that goes into cracks and joints; a guess."),
        _share("waste_fraction", "Share that stays in pot, on film and gloves."),
        _density("density_fibre", "Density of the glass, for its share by mass.", required=False),
    ),
    run=_resin,
    example={
        "diameter": _quantity(200, "mm"),
        "length": _quantity(3, "ft"),
        "thickness": _quantity(5, "mm"),
        "fibre_volume_fraction": 0.35,
        "density_mixed": _quantity(1100, "kg/m3"),
        "density_a": _quantity(1150, "kg/m3"),
        "density_b": _quantity(980, "kg/m3"),
        "ratio_a": 2,
        "ratio_b": 1,
        "ratio_basis": "volume",
        "host_loss_fraction": 0,
        "waste_fraction": 0.1,
    },
    source="Volume of a tube; the share of glass and the losses are the maker's and the crew's.",
    caution="Assumes full saturation and the stated wall; the loss into cracks is a guess.",
    page="docs/calculations/resin.md",
    words=RESIN_WORDS,
)
