"""Line air tests: time, pressures over the groundwater, and what they never test."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.air_test import (
    AirTestInputs,
    TimedDrop,
    WaterDatum,
    air_test,
    clay_pipe_time_s,
    practice_time_s,
    shortest_length_m,
    wall_factor,
)
from repairs.domain.units import FOOT_M, INCH_MM, PSI_KPA

REACH = AirTestInputs(
    diameter_mm=8 * INCH_MM,
    length_m=300 * FOOT_M,
    drop=TimedDrop.HALF_PSI,
    groundwater_m=0.0,
    groundwater_datum=WaterDatum.CENTRE_LINE,
)
diameters = st.floats(min_value=80.0, max_value=1500.0)
lengths = st.floats(min_value=1.0, max_value=400.0)


def test_a_dry_reach_is_timed_from_three_and_a_half_psi() -> None:
    """Fill to 4.0, time 3.5 to 3.0 psi. Source: 30 TAC 217.57 and municipal codes (read)."""
    found = air_test(REACH)

    assert found.fill_kpa / PSI_KPA == pytest.approx(4.0)
    assert found.start_kpa / PSI_KPA == pytest.approx(3.5)
    assert found.end_kpa / PSI_KPA == pytest.approx(3.0)
    assert air_test(replace(REACH, drop=TimedDrop.ONE_PSI)).end_kpa / PSI_KPA == pytest.approx(2.5)


def test_groundwater_is_added_to_every_pressure_and_not_to_the_time() -> None:
    """10 ft of water press with 4.34 psi; the drop that is timed stays the same."""
    dry, wet = air_test(REACH), air_test(replace(REACH, groundwater_m=10 * FOOT_M))

    for name in ("fill_kpa", "start_kpa", "end_kpa"):
        added_psi = (getattr(wet, name) - getattr(dry, name)) / PSI_KPA
        assert added_psi == pytest.approx(4.335, abs=1e-3)
    assert wet.time_s == dry.time_s


@pytest.mark.parametrize(
    ("water_ft", "feasible"),
    [
        (11.5, True),  # 4.0 and 4.99 psi
        (11.6, False),  # 4.0 and 5.03 psi are more than 9
    ],
)
def test_deep_water_leaves_no_pressure_to_test_with(water_ft: float, *, feasible: bool) -> None:
    """At most 9 psi in the line (from memory): 5 psi of water are 11.55 ft (read)."""
    found = air_test(replace(REACH, groundwater_m=water_ft * FOOT_M))

    assert found.feasible is feasible
    assert ("over_pressure" in found.flags) is not feasible


def test_the_pressure_allowed_is_itself_allowed() -> None:
    """A fill at exactly the highest pressure is feasible."""
    fill_kpa = air_test(REACH).fill_kpa

    assert air_test(replace(REACH, highest_kpa=fill_kpa)).feasible
    assert not air_test(replace(REACH, highest_kpa=fill_kpa * 0.999)).feasible


@pytest.mark.parametrize(
    ("owner_s", "time_s", "flags"),
    [
        (None, 227.9, ()),
        (306.0, 306.0, ()),  # a municipal table asks for more
        (100.0, 227.9, ("owner_time_shorter",)),  # less is named, and the longer counts
    ],
)
def test_the_longer_of_two_times_counts(
    owner_s: float | None, time_s: float, flags: tuple[str, ...]
) -> None:
    """8 in and 300 ft: 3:48 by the practice."""
    found = air_test(replace(REACH, owner_time_s=owner_s))

    assert found.time_s == pytest.approx(time_s, abs=0.1)
    assert found.flags == flags
    assert found.practice_time_s == pytest.approx(227.9, abs=0.1)


@pytest.mark.parametrize(("diameter_in", "too_large"), [(35.9, False), (36.0, True)])
def test_a_large_pipe_is_tested_joint_by_joint(diameter_in: float, *, too_large: bool) -> None:
    """Below 36 in a line is tested as a whole. Source: 30 TAC 217.57(a)(1) (read)."""
    found = air_test(replace(REACH, diameter_mm=diameter_in * INCH_MM))

    assert ("too_large" in found.flags) is too_large


def test_the_working_says_what_the_test_is_not() -> None:
    """It tests a reach, never a sleeve or a packer, and plugs are dangerous."""
    text = " ".join(air_test(REACH).working)

    assert "never one sleeve, and never a packer" in text
    assert "local codes" in text


def test_a_time_is_shown_rounded_up() -> None:
    """227.9 s are 3:48, never 3:47."""
    assert "Time: 3:48." in " ".join(air_test(REACH).working)


@pytest.mark.parametrize("field", ["diameter_mm", "length_m", "owner_time_s", "highest_kpa"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_reach_that_cannot_be_is_refused(field: str, value: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=field):
        replace(REACH, **{field: value})


@pytest.mark.parametrize("value", [-0.1, float("nan")])
def test_groundwater_that_cannot_be_is_refused(value: float) -> None:
    """Water below the datum presses on nothing: it is 0."""
    with pytest.raises(ValueError, match="groundwater_m"):
        replace(REACH, groundwater_m=value)


@given(diameters, lengths, st.floats(1.0, 3.0), st.sampled_from(TimedDrop))
def test_a_longer_or_larger_reach_never_takes_less_time(
    diameter_mm: float, length_m: float, factor: float, drop: TimedDrop
) -> None:
    """Both criteria rise with diameter and length."""
    slack = 1.0 - 1e-12
    time_s = practice_time_s(diameter_mm, length_m, drop)
    clay_s = clay_pipe_time_s(diameter_mm, length_m)

    assert practice_time_s(diameter_mm * factor, length_m, drop) >= slack * time_s
    assert practice_time_s(diameter_mm, length_m * factor, drop) >= slack * time_s
    assert clay_pipe_time_s(diameter_mm * factor, length_m) >= slack * clay_s
    assert clay_pipe_time_s(diameter_mm, length_m * factor) >= slack * clay_s


@given(diameters, lengths)
def test_half_the_drop_takes_half_the_time_and_k_is_at_least_one(
    diameter_mm: float, length_m: float
) -> None:
    """The 0.5 psi table is half of the 1.0 psi one; a short reach gets no credit."""
    half_s = practice_time_s(diameter_mm, length_m, TimedDrop.HALF_PSI)

    assert practice_time_s(diameter_mm, length_m, TimedDrop.ONE_PSI) == pytest.approx(2.0 * half_s)
    assert wall_factor(diameter_mm, length_m) >= 1.0
    assert wall_factor(diameter_mm, shortest_length_m(diameter_mm)) == pytest.approx(1.0)
