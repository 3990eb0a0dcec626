"""Units are converted once, exactly, and never guessed."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.units import (
    Dimension,
    accepted_units,
    parse,
    parse_array,
    range_words,
    render,
    words,
)


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "inside"),
    [
        (4.0, "psi", "pressure", 27.579029172673444),  # 4 psi, c9 of the check values
        (2.90075, "psi", "pressure", 20.0),  # 200 mbar, c9 of the check values, rounded there
        (200.0, "mbar", "pressure", 20.0),  # exact
        (1.0, "bar", "pressure", 100.0),  # exact
        (5000.0, "Pa", "pressure", 5.0),  # exact
        (77.0, "°F", "temperature", 25.0),  # exact, c9 of the check values
        (77.0, "degF", "temperature", 25.0),  # the same unit without the sign
        (293.15, "K", "temperature", 20.0),  # exact
        (10.0, "°F", "temperature_difference", 5.555555555555555),  # a difference has no 32
        (8.0, "in", "diameter", 203.2),  # exact
        (3.0, "ft", "length", 0.9144),  # exact
        (2.0, "lb", "mass", 0.90718474),  # exact
        (1.0, "gal", "volume", 3.785411784),  # exact
        (1.5, "h", "duration", 90.0),  # exact
        (90.0, "s", "duration", 1.5),  # exact
        (1.1, "g/cm3", "density", 1100.0),  # exact
        (10.0, "lb/gal", "density", 1198.26427),  # from pound and gallon
        (1.0, "PSI", "pressure", 6.894757),  # typed by hand; NIST SP 811, appendix B.8
        (1.0, "Psi", "pressure", 6.894757),
        (30.0, "kpa", "pressure", 30.0),
        (200.0, "mBar", "pressure", 20.0),  # the m is small: still a thousandth
        (77.0, "F", "temperature", 25.0),  # as °F
        (77.0, "degf", "temperature", 25.0),
        (25.0, "c", "temperature", 25.0),
        (9.0, "F", "temperature_difference", 5.0),  # a difference has no 32
        (3.0, "FT", "length", 0.9144),
        (1.5, "l", "volume", 1.5),
    ],
)
def test_a_value_in_a_usual_unit_becomes_si(
    value: float, unit: str, dimension: str, inside: float
) -> None:
    """Each usual unit is converted by its exact factor."""
    assert parse(value, unit, dimension) == pytest.approx(inside, rel=2e-6)


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "words_in_message"),
    [
        (1.0, "psi", "length", "found unit 'psi', expected one of m, mm"),  # another dimension
        (1.0, "Mbar", "pressure", "found unit 'Mbar', expected one of kPa"),  # a million bars?
        (1.0, "MM", "length", "found unit 'MM'"),  # a capital M is a million
        (1.0, "pounds", "pressure", "found unit 'pounds', expected one of kPa, Pa, bar"),
        (1.0, "", "mass", "found unit ''"),  # a unit is never guessed
        (float("nan"), "m", "length", "expected a finite number"),  # no number
        (float("inf"), "m", "length", "expected a finite number"),  # no number
        (1e308, "bar", "pressure", "expected a number of usual size"),  # overflows inside
        (-500.0, "°F", "temperature", "above absolute zero"),  # impossible
    ],
)
def test_what_is_no_quantity_is_refused(
    value: float, unit: str, dimension: str, words_in_message: str
) -> None:
    """The message names what was found and what was expected."""
    with pytest.raises(ValueError, match=words_in_message):
        parse(value, unit, dimension)


@pytest.mark.parametrize(
    ("low", "high", "unit", "dimension", "told"),
    [
        (50.0, 3000.0, "mm", "diameter", "50 to 3000 mm"),  # as it stands
        (50.0, 3000.0, "in", "diameter", "1.969 to 118.1 in"),  # 1.9685 and 118.110 in
        (50.0, 3000.0, "m", "diameter", "0.05 to 3 m"),
        (1.0, 1000.0, "psi", "pressure", "0.1451 to 145 psi"),  # 0.14504 and 145.04 psi
        (-20.0, 60.0, "degF", "temperature", "-4 to 140 degF"),
    ],
)
def test_a_range_is_told_in_the_unit_that_was_used(
    low: float, high: float, unit: str, dimension: str, told: str
) -> None:
    """Bounds are rounded inwards: a value at the shown bound is inside."""
    assert range_words(low, high, unit, dimension) == told


@given(
    low=st.floats(0.001, 10.0),
    span=st.floats(0.1, 1e4),
    dimension=st.sampled_from(list(Dimension)),
    data=st.data(),
)
def test_the_bounds_of_a_told_range_lie_inside_it(
    low: float, span: float, dimension: Dimension, data: st.DataObject
) -> None:
    """Whoever types a bound as told is not refused for its rounding."""
    unit = data.draw(st.sampled_from(accepted_units(dimension)))

    first, _, last, _ = range_words(low, low + span, unit, dimension).split()

    for bound in (first, last):
        assert low - 1e-6 * span <= parse(float(bound), unit, dimension) <= low + span + 1e-6 * span


@given(dimension=st.sampled_from(list(Dimension)), data=st.data())
def test_small_letters_never_mean_another_unit(dimension: Dimension, data: st.DataObject) -> None:
    """Each unit in small letters is itself."""
    unit = data.draw(st.sampled_from(accepted_units(dimension)))

    assert parse(3.0, unit.lower(), dimension) == parse(3.0, unit, dimension)


def test_an_unknown_dimension_is_refused() -> None:
    """Only the named dimensions exist."""
    with pytest.raises(ValueError, match="colour"):
        parse(1.0, "m", "colour")


def test_a_quantity_leaves_with_si_and_us_beside_it() -> None:
    """A pressure is shown in kPa, with psi beside it."""
    assert render(34.473786, "pressure") == {
        "value": 34.473786,
        "unit": "kPa",
        "us": {"value": 5.0, "unit": "psi"},
    }


def test_a_temperature_difference_is_shown_without_the_32() -> None:
    """5 K are 9 °F of difference, not 41."""
    assert render(5.0, "temperature_difference")["us"] == {"value": 9.0, "unit": "°F"}


def test_people_read_both_units() -> None:
    """Text gives SI first and US in brackets, and a duration only once."""
    assert words(31.0264, Dimension.PRESSURE) == "31.0 kPa (4.50 psi)"
    assert words(20.0, Dimension.TEMPERATURE) == "20.0 °C (68.0 °F)"
    assert words(90.0, Dimension.DURATION, 0) == "90 min"


@given(
    value=st.floats(-200.0, 1e6),
    dimension=st.sampled_from([name for name in Dimension if name != Dimension.DURATION]),
)
def test_what_is_shown_in_us_units_reads_back_as_the_same(
    value: float, dimension: Dimension
) -> None:
    """A round trip through the shown US figure keeps six digits."""
    shown = render(value, dimension)["us"]

    back = parse(shown["value"], shown["unit"], dimension)

    scale = max(abs(value), 20.0)
    assert back == pytest.approx(value, abs=1e-5 * scale)


@given(
    value=st.floats(0.0, 1e6),
    dimension=st.sampled_from(list(Dimension)),
    data=st.data(),
)
def test_every_unit_rises_with_its_quantity(
    value: float, dimension: Dimension, data: st.DataObject
) -> None:
    """More of a unit is more inside."""
    unit = data.draw(st.sampled_from(accepted_units(dimension)))

    assert parse(value + 1.0, unit, dimension) > parse(value, unit, dimension)


@given(values=st.lists(st.floats(-50.0, 1e4), max_size=5), unit=st.sampled_from(["psi", "mbar"]))
def test_a_column_is_converted_like_its_values(values: list[float], unit: str) -> None:
    """The quick way for columns and the way for one value agree."""
    column = parse_array(np.array(values, dtype=float), unit, "pressure")

    assert column.tolist() == [parse(value, unit, "pressure") for value in values]
