"""Air tests after EN 1610: the rounding is a choice, and a manhole takes half."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.en1610_air_test import (
    En1610Inputs,
    En1610Method,
    MinuteRounding,
    PipeWall,
    en1610_air_test,
    rounded_min,
)

PIPE = En1610Inputs(
    nominal_mm=300.0,
    method=En1610Method.LC,
    wall=PipeWall.WET_CONCRETE_OR_OTHER,
    rounding=MinuteRounding.NEAREST,
    is_manhole=False,
)
diameters = st.floats(min_value=80.0, max_value=1500.0)


def test_the_working_says_what_the_test_is_not() -> None:
    """It tests a reach, never a sleeve or a packer, and plugs are dangerous."""
    text = " ".join(en1610_air_test(PIPE).working)

    assert "never one sleeve, and never a packer" in text
    assert "local codes" in text


@pytest.mark.parametrize(
    ("rounding", "told"),
    [(MinuteRounding.NEAREST, "nearest 0.5"), (MinuteRounding.UP, "DWA-A 139")],
)
def test_the_working_says_how_it_was_rounded(rounding: MinuteRounding, told: str) -> None:
    """A reader must be able to do it again."""
    found = en1610_air_test(replace(PIPE, rounding=rounding, is_manhole=True))

    assert told in " ".join(found.working)
    assert "manhole takes half" in " ".join(found.working)


@pytest.mark.parametrize(
    ("exact_min", "nearest", "up"),
    [
        (4.74, 4.5, 5.0),  # below 5 in halves
        (4.75, 5.0, 5.0),  # a tie goes up
        (5.0, 5.0, 5.0),
        (5.394, 5.0, 6.0),  # above 5 in whole minutes
        (5.5, 6.0, 6.0),  # a tie goes up, not to the even number
        (6.4968, 6.0, 7.0),  # the edge of the printed table
        (1.3442, 1.5, 2.0),
    ],
)
def test_rounding_is_a_choice(exact_min: float, nearest: float, up: float) -> None:
    """EN 1610 rounds to the nearest step, DWA-A 139 up to the next minute (both read)."""
    assert rounded_min(exact_min, MinuteRounding.NEAREST) == nearest
    assert rounded_min(exact_min, MinuteRounding.UP) == up


def test_a_manhole_takes_half_the_time_of_its_pipe() -> None:
    """Edition of 2015 (read): DN 1000, LA, wet: 24 min for the pipe, 12 for the manhole."""
    pipe = replace(PIPE, nominal_mm=1000.0, method=En1610Method.LA)

    assert en1610_air_test(pipe).time_min == 24.0
    assert en1610_air_test(replace(pipe, is_manhole=True)).time_min == 12.0


@pytest.mark.parametrize(("nominal_mm", "settle_min"), [(300.0, 5.0), (500.0, 5.0), (800.0, 8.0)])
def test_a_larger_pipe_settles_longer(nominal_mm: float, settle_min: float) -> None:
    """5 min up to DN 500, then DN/100. Source: a trade guide (read)."""
    assert en1610_air_test(replace(PIPE, nominal_mm=nominal_mm)).settle_min == settle_min


@pytest.mark.parametrize("value", [0.0, -300.0, float("nan"), float("inf")])
def test_a_diameter_that_cannot_be_is_refused(value: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match="nominal_mm"):
        replace(PIPE, nominal_mm=value)


@given(diameters, st.floats(1.0, 3.0), st.sampled_from(En1610Method), st.sampled_from(PipeWall))
def test_a_larger_pipe_never_takes_less_time(
    nominal_mm: float, factor: float, method: En1610Method, wall: PipeWall
) -> None:
    """In both roundings, and rounding up never gives less than the nearest."""
    for rounding in MinuteRounding:
        small = replace(PIPE, nominal_mm=nominal_mm, method=method, wall=wall, rounding=rounding)
        large = replace(small, nominal_mm=nominal_mm * factor)
        assert en1610_air_test(large).time_min >= en1610_air_test(small).time_min
    nearest = en1610_air_test(replace(small, rounding=MinuteRounding.NEAREST))
    up = en1610_air_test(replace(small, rounding=MinuteRounding.UP))
    assert up.time_min >= nearest.time_min
    assert up.time_min >= up.unrounded_min - 1e-9
