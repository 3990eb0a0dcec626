"""The screening of walls, against one textbook's worked example and computed vectors.

One example only: a second, independent one was not found. `c3_pressure_vectors.csv`
(X1.6, X1.7) is not reproduced: pressure pipes are outside this project, the equations
are from memory, and no published pair was found. A contractor's example in
`c3_f1216.csv` cannot be: it states neither its loads nor how much modulus creep leaves.
"""

import pytest

from repairs.domain.ovality import ovality_factor
from repairs.domain.soil_load import Ground, live_load_kpa, wheel_coefficient
from repairs.domain.units import FOOT_M, INCH_MM, POUND_KG, PSI_KPA, STANDARD_GRAVITY_M_S2
from repairs.domain.wall_edition import F1216Edition
from repairs.domain.wall_equations import (
    bending_thickness_mm,
    buckling_pressure_kpa,
    buckling_thickness_mm,
    stiff_thickness_mm,
)
from repairs.domain.wall_thickness import PipeCondition, WallInputs, wall_thickness
from tests.reference.tables import table

EXAMPLE = {row["item"]: row for row in table("c3_f1216") if row["example"].startswith("A")}
OTHER_EXAMPLES = [row for row in table("c3_f1216") if not row["example"].startswith("A")]
OVALITY, GRID = table("c3_ovality_C"), table("c3_own_grid")
WHEELS, PRESSURE = table("c3_live_load_Cs"), table("c3_pressure_vectors")

PSI_MPA = PSI_KPA / 1000.0
POUND_KN = POUND_KG * STANDARD_GRAVITY_M_S2 / 1000.0
PSI_A_FOOT_KPA = 0.433 * PSI_KPA
"""The book's head of one foot; the project uses 0.43353 psi."""

WHEEL_KPA = live_load_kpa(
    wheel_kn=16_000.0 * POUND_KN,
    impact_factor=1.0,
    coefficient=0.03826,
    diameter_mm=48.0 * INCH_MM,
    effective_length_m=FOOT_M / 0.33,  # the book writes 0.33 / ft for 1 / (3 ft)
)
GROUND = Ground(
    groundwater_above_crown_m=8.0 * FOOT_M,
    cover_m=16.0 * FOOT_M,
    soil_weight_kn_m3=120.0 * POUND_KN / FOOT_M**3,
    soil_modulus_mpa=1000.0 * PSI_MPA,
    live_load_kpa=WHEEL_KPA,
)
BOOK = WallInputs(
    edition=F1216Edition("F1216-09"),
    condition=PipeCondition.FULLY_DETERIORATED,
    diameter_mm=48.0 * INCH_MM,
    ovality_percent=2.0,
    groundwater_above_invert_m=12.0 * FOOT_M,
    ground=GROUND,
    long_term_modulus_mpa=125_000.0 * PSI_MPA,
    short_term_modulus_mpa=250_000.0 * PSI_MPA,
    long_term_strength_mpa=4_500.0 * PSI_MPA,
    poisson_ratio=0.3,
    enhancement=7.0,
    safety_factor=2.0,
)
FOUND = wall_thickness(BOOK)
WALLS_IN = {name: wall / INCH_MM for name, wall in FOUND.by_equation}


@pytest.mark.parametrize(
    ("item", "found", "printed_to", "computed_to"),
    [
        ("C (q=2%)", ovality_factor(2.0), 5e-4, 6e-6),
        ("Rw (Hw=8,H=16)", GROUND.buoyancy, 1e-12, 1e-12),
        (
            "Wsc=0.33*Csc*P*F/(12*D) Csc=.03826 P=16000 F=1 D=48",
            GROUND.live_load_kpa / PSI_KPA,
            5e-3,
            6e-6,
        ),
        # The book's own terms sum to 14.95; the head a foot differs by 0.0005 psi.
        ("qt psi", GROUND.total_kpa / PSI_KPA, 0.06, 5e-3),
        ("B' (H=16)", GROUND.support, 5e-4, 6e-6),
        ("t X1.3 in", WALLS_IN["X1.3"], 5e-3, 4e-4),
        ("t with book roundings and 0.721", WALLS_IN["X1.3"], 5e-3, 3e-3),
        ("t X1.4 in (E=250000 short term)", WALLS_IN["X1.4"], 5e-4, 6e-6),
    ],
)
def test_the_textbook_is_met(
    item: str, found: float, printed_to: float, computed_to: float
) -> None:
    """48 in, 2 % oval, 8 ft of water and 16 ft of soil over the crown, one 16,000 lb wheel.

    Source: c3_f1216.csv: a textbook on trenchless pipes, READ; the book misprints e as
    2.178 and 0.065 as 0.65 on the way, and its results do not follow the misprints.
    """
    row = EXAMPLE[item]
    assert row["read_or_memory"] == "READ"

    assert found == pytest.approx(float(row["published"]), abs=printed_to)
    assert found == pytest.approx(float(row["recomputed"]), abs=computed_to)


def test_every_row_of_the_example_is_met() -> None:
    """No row of the example is left out, and the other example states too little."""
    assert len(EXAMPLE) == 8
    assert all("not stated" in row["note"] for row in OTHER_EXAMPLES)
    assert all(row["read_or_memory"].startswith("FROM MEMORY") for row in PRESSURE)


def test_the_soil_governs_the_example() -> None:
    """X1.3 asks for the thickest wall: 1.01 in. Source: as above."""
    assert FOUND.governing == "X1.3"
    assert FOUND.thickness_mm / INCH_MM == pytest.approx(1.0085, abs=4e-4)
    assert FOUND.edition == "F1216-09"


def test_water_is_measured_from_the_invert_in_one_equation_and_from_the_crown_in_another() -> None:
    """12 ft over the invert are 8 ft over the crown of a 48 in pipe. Source: as above, p. 80."""
    assert BOOK.groundwater_above_invert_m / FOOT_M == pytest.approx(12.0)
    assert GROUND.water_kpa / PSI_KPA == pytest.approx(8 * 0.4335, abs=1e-3)
    grid = next(row for row in GRID if (row["D_in"], row["Hw_ft_above_invert"]) == ("48", "10"))
    more = next(row for row in GRID if (row["D_in"], row["Hw_ft_above_invert"]) == ("48", "15"))
    assert float(grid["t_X1.1_in"]) < WALLS_IN["X1.1"] < float(more["t_X1.1_in"])


@pytest.mark.parametrize("row", OVALITY, ids=lambda row: row["ovality_pct"])
def test_the_ovality_factor_is_met(row: dict[str, str]) -> None:
    """Source: c3_ovality_C.csv: formula and its value at 2 % READ, others COMPUTED."""
    found = ovality_factor(float(row["ovality_pct"]))

    assert found == pytest.approx(float(row["C_computed"]), abs=6e-6)


@pytest.mark.parametrize("row", GRID, ids=lambda row: "-".join(list(row.values())[:2]))
def test_the_grid_is_met(row: dict[str, str]) -> None:
    """Nine diameters at four heads, each equation by itself, in its last digit.

    Source: c3_own_grid.csv, COMPUTED by an independent route.
    """
    diameter_mm = float(row["D_in"]) * INCH_MM
    head_kpa = float(row["Hw_ft_above_invert"]) * PSI_A_FOOT_KPA
    ovality, safety = float(row["q_pct"]), float(row["N"])
    material = {
        "diameter_mm": diameter_mm,
        "ovality_percent": ovality,
        "long_term_modulus_mpa": float(row["EL_psi"]) * PSI_MPA,
        "poisson_ratio": 0.3,
        "enhancement": float(row["K"]),
        "safety_factor": safety,
    }
    buckling_mm = buckling_thickness_mm(pressure_kpa=head_kpa, **material)
    bending_mm = bending_thickness_mm(
        diameter_mm=diameter_mm,
        pressure_kpa=head_kpa,
        ovality_percent=ovality,
        long_term_strength_mpa=float(row["sigmaL_psi"]) * PSI_MPA,
        safety_factor=safety,
    )

    stiff_mm = stiff_thickness_mm(diameter_mm, 250_000.0 * PSI_MPA)
    assert buckling_mm / INCH_MM == pytest.approx(float(row["t_X1.1_in"]), abs=6e-6)
    assert bending_mm / INCH_MM == pytest.approx(float(row["t_X1.2_in"]), abs=6e-6)
    assert stiff_mm / INCH_MM == pytest.approx(float(row["t_X1.4_in_E250000"]), abs=6e-6)
    back_kpa = buckling_pressure_kpa(thickness_mm=buckling_mm, **material)
    assert back_kpa == pytest.approx(head_kpa, rel=1e-12)


@pytest.mark.parametrize("row", WHEELS, ids=lambda row: "-".join(list(row.values())[:2]))
def test_a_wheel_s_coefficient_is_met(row: dict[str, str]) -> None:
    """The table of 1982 within 0.002: four corners of Boussinesq's half space.

    Source: c3_live_load_Cs.csv: table 2.12 of the textbook, READ.
    """
    found = wheel_coefficient(float(row["row_ratio"]), float(row["col_ratio"]))

    assert found == pytest.approx(float(row["published_Cs"]), abs=0.002)
    assert found == pytest.approx(float(row["recomputed"]), abs=6e-5)
