from typing import Any

import pytest

from qa.calculations.registry import CALCULATIONS
from tests.qa.calculations.asking import faults, of, run


def test_both_moduli_and_both_waters_are_kept_apart() -> None:
    """Exchanged moduli, and waters that do not differ by the diameter, are refused."""
    ground = CALCULATIONS["wall-thickness"].example["ground"]
    exchanged = faults(
        "wall-thickness", long_term_modulus=of(3, "GPa"), short_term_modulus=of(1.5, "GPa")
    )
    wrong = faults("wall-thickness", ground={**ground, "groundwater_above_crown": of(1.0, "m")})

    assert "exchanged" in exchanged["long_term_modulus"][1]
    assert "differ by the diameter" in next(iter(wrong.values()))[1]


def test_a_modulus_in_psi_is_the_one_in_megapascal() -> None:
    """250,000 psi are 1723.689 MPa (6.894757 kPa a psi)."""
    psi, mpa = (
        run("wall-thickness", long_term_modulus=modulus)["result"]["by_equation"]["X1.1"]["value"]
        for modulus in (of(250_000, "psi"), of(1723.68925, "MPa"))
    )

    assert psi == pytest.approx(mpa, rel=1e-6)


@pytest.mark.parametrize("sent", [7, of(1, "m"), of(float("inf"), "MPa"), of(-1, "MPa"), {}])
def test_a_modulus_needs_a_unit_and_a_size(sent: Any) -> None:
    """As any quantity."""
    assert "MPa" in faults("wall-thickness", short_term_modulus=sent)["short_term_modulus"][1]


def test_a_pipe_fully_deteriorated_needs_its_ground() -> None:
    """Without the ground X1.3 has nothing to reckon with."""
    assert "ground" in faults("wall-thickness", ground=None)
