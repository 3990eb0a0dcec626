import pytest

from tests.qa.calculations.asking import faults, of, run


def test_what_the_core_refuses_names_the_field_that_was_sent() -> None:
    """The core's names carry units, those of the edge do not."""
    assert faults("resin", thickness=of(45, "mm"), diameter=of(80, "mm")) == {
        "thickness": ("45.0", "less than half the bore")
    }


def test_masses_and_volumes_of_the_parts_keep_apart() -> None:
    """Two figures of one name are told by what they measure; the case is D of the study."""
    result = run("resin")["result"]

    assert result["mass"]["value"] == pytest.approx(2.20287, abs=5e-6)
    assert result["volume"]["value"] == pytest.approx(2.0026, abs=5e-5)
    assert result["part_a_mass"]["unit"] == "kg"
    assert result["part_a_volume"]["unit"] == "L"
