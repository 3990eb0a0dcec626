from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calculations.field import Wrong
from qa.calculations.kinds import Instant, Quantity
from qa.calculations.said import fault_said
from qa.calculations.written import written
from repairs.domain.units import Dimension, accepted_units

FIELD = Quantity(name="p", meaning="A pressure.", dimension=Dimension.PRESSURE, low=0, high=1000)


@given(st.floats(0, 100), st.sampled_from(accepted_units(Dimension.PRESSURE)))
def test_what_is_typed_is_what_is_sent(value: float, unit: str) -> None:
    """A word in a terminal and the same quantity in JSON are one."""
    rounded = float(f"{value:g}")

    assert FIELD.typed(FIELD.spoken({"value": rounded, "unit": unit})) == {
        "value": rounded,
        "unit": unit,
    }


@given(st.one_of(st.none(), st.booleans(), st.text(), st.floats(), st.lists(st.integers())))
def test_only_a_value_with_a_unit_is_a_quantity(sent: object) -> None:
    """Anything else is refused by name."""
    with pytest.raises(Wrong) as wrong:
        FIELD.read(sent, "p")

    assert wrong.value.faults[0].field == "p"


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("4.8psi", {"value": 4.8, "unit": "psi"}),
        ("-3 °C", {"value": -3.0, "unit": "°C"}),
        ("1e2mm", {"value": 100.0, "unit": "mm"}),
        (".5kg/m3", {"value": 0.5, "unit": "kg/m3"}),
        ("200", "200"),  # without a unit it stays the word that was typed
        ("psi", "psi"),
    ],
)
def test_a_word_is_parted_into_number_and_unit(typed: str, sent: object) -> None:
    """The unit begins where the number ends."""
    assert FIELD.typed(typed) == sent


def test_units_leave_the_name_and_stand_beside_the_value() -> None:
    """Each ending has its unit; the longer ending wins."""
    found = written(
        {
            "low_kpa": 34.473786,
            "density_kg_m3": 1100.0,
            "slope_kpa_per_min": np.float64(0.1),
            "static_minutes": 90.0,
            "gap_s": 2.0,
            "working": ("not here",),
        }
    )

    assert found["low"]["us"] == {"value": 5.0, "unit": "psi"}
    assert found["density"]["unit"] == "kg/m3"
    assert found["slope_a_minute"]["us"]["unit"] == "psi/min"
    assert found["static_time"]["unit"] == "min"
    assert found["gap"] == {"value": 2.0, "unit": "s"}
    assert set(found) == {"low", "density", "slope_a_minute", "static_time", "gap"}


def test_what_is_not_known_is_null() -> None:
    """JSON has no infinity and no NaN."""
    found = written({"low_kpa": float("inf"), "share": float("nan"), "late": None, "x_m": None})

    assert found == {"low": None, "share": None, "late": None, "x": None}


def test_times_and_columns_become_plain() -> None:
    """Instants as ISO 8601, arrays as lists."""
    at = datetime(2026, 11, 25, tzinfo=UTC)

    assert written({"late": at, "shares": np.array([0.5])}) == {
        "late": "2026-11-25T00:00:00+00:00",
        "shares": [0.5],
    }


@pytest.mark.parametrize(
    "sent",
    [
        "2026-11-25T09:00:00",
        "yesterday",
        "",
        7,
        None,
        "1800-01-01T00:00:00Z",
        "9999-12-31T23:00-12",
    ],
)
def test_a_time_nobody_can_place_is_refused(sent: object) -> None:
    """Without its offset, or beyond the years that can be reckoned with."""
    with pytest.raises(Wrong):
        Instant(name="at", meaning="x").read(sent, "at")


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ("diameter_mm: found 0, expected more than 0.", "diameter"),
        ("rows[2].minutes: found 7, expected less", "rows[2].minutes"),
        ("stock_lengths_m: 3 m must be covered.", "stock_lengths"),
        ("low_kpa, high_kpa: found 5 to 4, expected low at most high.", "low"),
        ("nobody knows", "body"),
    ],
)
def test_the_cores_words_are_told_of_the_field_that_was_sent(words: str, field: str) -> None:
    """Its unit goes, an index stays."""
    known = ["diameter", "rows", "stock_lengths", "low", "high"]

    assert fault_said(words, known).field == field
