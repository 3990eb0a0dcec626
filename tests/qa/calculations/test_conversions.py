import pytest

from tests.qa.calculations.asking import faults, run


def test_a_quantity_is_told_in_every_unit() -> None:
    """4.8 psi in each unit of pressure, and back to what was sent."""
    values = {each["unit"]: each["value"] for each in run("units")["result"]["values"]}

    assert values["psi"] == 4.8
    assert values["kPa"] == pytest.approx(4.8 * 6.894757, abs=1e-5)


def test_a_unit_of_something_else_is_refused() -> None:
    """A metre is no pressure."""
    assert "kPa" in faults("units", unit="m")["unit"][1]
