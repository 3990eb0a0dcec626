"""The screening of a wall: what governs, what is refused, and which way it moves."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.ovality import bending_ratio, ovality_factor
from repairs.domain.soil_load import Ground, live_load_kpa, wheel_coefficient
from repairs.domain.wall_edition import F1216Edition
from repairs.domain.wall_equations import (
    bending_thickness_mm,
    buckling_pressure_kpa,
    buckling_thickness_mm,
    buried_load_kpa,
    buried_thickness_mm,
    stiff_thickness_mm,
)
from repairs.domain.wall_thickness import PipeCondition, WallInputs, wall_thickness

GROUND = Ground(
    groundwater_above_crown_m=1.8,
    cover_m=3.0,
    soil_weight_kn_m3=19.0,
    soil_modulus_mpa=7.0,
    live_load_kpa=5.0,
)
FULLY = WallInputs(
    edition=F1216Edition("F1216-22"),
    condition=PipeCondition.FULLY_DETERIORATED,
    diameter_mm=200.0,
    ovality_percent=2.0,
    groundwater_above_invert_m=2.0,
    ground=GROUND,
    long_term_modulus_mpa=1500.0,
    short_term_modulus_mpa=3000.0,
    long_term_strength_mpa=25.0,
    poisson_ratio=0.3,
    enhancement=7.0,
    safety_factor=2.0,
)
PARTIALLY = replace(FULLY, condition=PipeCondition.PARTIALLY_DETERIORATED, ground=None)

pressures = st.floats(min_value=0.5, max_value=200.0)
ovalities = st.floats(min_value=0.0, max_value=12.0)
diameters = st.floats(min_value=80.0, max_value=1500.0)
moduli = st.floats(min_value=300.0, max_value=20_000.0)


def _buckling_mm(inputs: WallInputs, pressure_kpa: float) -> float:
    return buckling_thickness_mm(
        diameter_mm=inputs.diameter_mm,
        pressure_kpa=pressure_kpa,
        ovality_percent=inputs.ovality_percent,
        long_term_modulus_mpa=inputs.long_term_modulus_mpa,
        poisson_ratio=inputs.poisson_ratio,
        enhancement=inputs.enhancement,
        safety_factor=inputs.safety_factor,
    )


def test_a_pipe_that_still_carries_the_soil_needs_only_two_equations() -> None:
    """Partially deteriorated: buckling under water and bending of an oval pipe."""
    found = wall_thickness(PARTIALLY)

    assert [name for name, _ in found.by_equation] == ["X1.1", "X1.2"]
    assert found.governing == "X1.1"


def test_a_pipe_that_carries_nothing_needs_all_four() -> None:
    """Fully deteriorated: soil and stiffness come to the other two."""
    found = wall_thickness(FULLY)

    assert [name for name, _ in found.by_equation] == ["X1.1", "X1.2", "X1.3", "X1.4"]
    assert found.thickness_mm == max(wall for _, wall in found.by_equation)


def test_the_modulus_of_a_test_stiffens_only_one_equation() -> None:
    """The short-term modulus moves X1.4 and nothing else."""
    stiffer = wall_thickness(replace(FULLY, short_term_modulus_mpa=6000.0))
    changed = {
        name
        for (name, before), (_, after) in zip(
            wall_thickness(FULLY).by_equation, stiffer.by_equation, strict=True
        )
        if before != after
    }

    assert changed == {"X1.4"}


def test_exchanged_moduli_are_refused() -> None:
    """A long-term modulus above the short-term one is a mix-up."""
    with pytest.raises(ValueError, match="exchanged"):
        replace(FULLY, long_term_modulus_mpa=3000.0, short_term_modulus_mpa=1500.0)


def test_a_fully_deteriorated_pipe_without_its_ground_is_refused() -> None:
    """X1.3 cannot be reckoned from the water above the invert alone."""
    with pytest.raises(ValueError, match="ground: found none"):
        replace(FULLY, ground=None)


@pytest.mark.parametrize(
    ("above_invert_m", "above_crown_m", "taken"),
    [
        (2.0, 1.8, True),  # a 200 mm pipe
        (2.04, 1.8, True),  # within the width of a survey
        (2.0, 2.0, False),  # one level typed twice: a diameter wrong
        (0.15, -0.05, True),  # the crown is dry
        (0.15, 0.0, True),  # the same, written as 0
        (0.5, 0.0, False),  # not dry with 0.5 m over the invert
    ],
)
def test_the_two_water_levels_lie_a_diameter_apart(
    above_invert_m: float, above_crown_m: float, *, taken: bool
) -> None:
    """Above the invert for X1.1, above the crown for X1.3: they must not contradict."""
    ground = replace(GROUND, groundwater_above_crown_m=above_crown_m)
    if taken:
        assert replace(FULLY, groundwater_above_invert_m=above_invert_m, ground=ground)
    else:
        with pytest.raises(ValueError, match="differ by the diameter"):
            replace(FULLY, groundwater_above_invert_m=above_invert_m, ground=ground)


def test_a_dry_pipe_still_gets_a_wall() -> None:
    """Without water the wall is a hundredth of the diameter, not nothing (from memory)."""
    found = wall_thickness(replace(PARTIALLY, groundwater_above_invert_m=0.0))

    assert (found.governing, found.thickness_mm) == ("dry", 2.0)


@pytest.mark.parametrize(
    ("designation", "under_root"),
    [
        ("F1216-89", False),
        ("F1216-98", False),
        ("F1216-07", False),  # the change came with the letter b
        ("F1216-07a", False),
        ("F1216-07b", True),
        ("F1216-09", True),
        ("F1216-16", True),
        ("F1216-22", True),
    ],
)
def test_the_edition_says_where_the_ovality_stands(designation: str, *, under_root: bool) -> None:
    """From F1216-07b on C stands under the root of X1.3.

    Source: a conference abstract of 2008 (read); where C stood before is from memory.
    """
    assert F1216Edition(designation).ovality_under_root is under_root


@pytest.mark.parametrize("designation", ["", "F1216", "1216-22", "F1417-11", "f1216-22", "F1216-2"])
def test_another_standard_s_edition_is_refused(designation: str) -> None:
    """Only an edition of the practice says by which equations a wall was reckoned."""
    with pytest.raises(ValueError, match="edition"):
        F1216Edition(designation)


def test_the_newer_edition_never_asks_for_more() -> None:
    """An oval pipe's X1.3 wall was thinned by the change. Source: the abstract (read)."""
    older = wall_thickness(replace(FULLY, edition=F1216Edition("F1216-07a")))
    newer = wall_thickness(FULLY)

    assert dict(newer.by_equation)["X1.3"] < dict(older.by_equation)["X1.3"]
    assert "C [32" in " ".join(older.working)
    assert "C [32" not in " ".join(newer.working)


def test_the_working_names_edition_moduli_and_datums() -> None:
    """An engineer sees which figure went where, and whose the design is."""
    text = "\n".join(wall_thickness(FULLY).working)

    for part in ("F1216-22", "LONG-term", "SHORT-term", "INVERT", "CROWN", "licensed engineer"):
        assert part in text


@pytest.mark.parametrize(
    ("change", "flag"),
    [
        ({"ovality_percent": 11.0}, "unusual_ovality"),
        ({"safety_factor": 1.4}, "unusual_safety_factor"),
        ({"condition": PipeCondition.PARTIALLY_DETERIORATED}, "ground_not_used"),
    ],
)
def test_what_is_odd_is_named(change: dict[str, float], flag: str) -> None:
    """An odd figure is reckoned with and named."""
    assert wall_thickness(FULLY).flags == ()
    assert wall_thickness(replace(FULLY, **change)).flags == (flag,)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("diameter_mm", 0.0),
        ("diameter_mm", float("nan")),
        ("ovality_percent", -0.1),
        ("ovality_percent", 100.0),
        ("groundwater_above_invert_m", -0.1),
        ("groundwater_above_invert_m", float("inf")),
        ("poisson_ratio", 0.5),
        ("safety_factor", 0.99),
        ("enhancement", 0.0),
        ("long_term_strength_mpa", -1.0),
    ],
)
def test_a_figure_that_cannot_be_is_refused(field: str, value: float) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=field):
        replace(PARTIALLY, **{field: value})


@pytest.mark.parametrize(
    "change",
    [
        {"cover_m": 0.0},
        {"soil_weight_kn_m3": 0.0},
        {"soil_modulus_mpa": 0.0},
        {"live_load_kpa": -0.1},
        {"groundwater_above_crown_m": float("nan")},
    ],
)
def test_ground_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=next(iter(change))):
        replace(GROUND, **change)


def test_water_carries_a_third_of_the_soil_at_most() -> None:
    """Rw falls to 0.67 where the ground is wet to its surface, and no further."""
    assert replace(GROUND, groundwater_above_crown_m=-1.0).buoyancy == 1.0
    assert replace(GROUND, groundwater_above_crown_m=3.0).buoyancy == pytest.approx(0.67)
    assert replace(GROUND, groundwater_above_crown_m=9.0).buoyancy == 0.67


@given(pressures, ovalities, diameters, moduli)
def test_buckling_goes_there_and_back(
    pressure_kpa: float, ovality: float, diameter_mm: float, modulus: float
) -> None:
    """The wall for a pressure bears exactly that pressure."""
    figures = {
        "diameter_mm": diameter_mm,
        "ovality_percent": ovality,
        "long_term_modulus_mpa": modulus,
        "poisson_ratio": 0.3,
        "enhancement": 7.0,
        "safety_factor": 2.0,
    }
    wall_mm = buckling_thickness_mm(pressure_kpa=pressure_kpa, **figures)

    assert 0.0 < wall_mm < diameter_mm
    back_kpa = buckling_pressure_kpa(thickness_mm=wall_mm, **figures)
    assert back_kpa == pytest.approx(pressure_kpa, rel=1e-9)


@given(ovality=ovalities, diameter_mm=diameters, modulus=moduli, under_root=st.booleans())
def test_the_buried_wall_goes_there_and_back(
    ovality: float, diameter_mm: float, modulus: float, *, under_root: bool
) -> None:
    """The wall for a load at the crown bears exactly that load."""
    figures = {
        "diameter_mm": diameter_mm,
        "ground": GROUND,
        "ovality_percent": ovality,
        "long_term_modulus_mpa": modulus,
        "safety_factor": 2.0,
        "ovality_under_root": under_root,
    }
    wall_mm = buried_thickness_mm(**figures)

    found_kpa = buried_load_kpa(thickness_mm=wall_mm, **figures)
    assert found_kpa == pytest.approx(GROUND.total_kpa, rel=1e-9)


@given(pressures, st.floats(1.0, 3.0), ovalities, st.floats(0.0, 5.0))
def test_more_water_or_ovality_never_needs_less_wall(
    pressure_kpa: float, factor: float, ovality: float, more: float
) -> None:
    """Both X1.1 and X1.2 rise with pressure and with ovality. Source: the textbook's table."""
    round_pipe = replace(PARTIALLY, ovality_percent=ovality)
    oval_pipe = replace(PARTIALLY, ovality_percent=ovality + more)
    slack = 1.0 - 1e-12

    assert _buckling_mm(round_pipe, pressure_kpa * factor) >= slack * _buckling_mm(
        round_pipe, pressure_kpa
    )
    assert _buckling_mm(oval_pipe, pressure_kpa) >= slack * _buckling_mm(round_pipe, pressure_kpa)
    bending = [
        bending_thickness_mm(
            diameter_mm=200.0,
            pressure_kpa=pressure,
            ovality_percent=q,
            long_term_strength_mpa=25.0,
            safety_factor=2.0,
        )
        for pressure, q in (
            (pressure_kpa, ovality),
            (pressure_kpa * factor, ovality),
            (pressure_kpa, ovality + more),
        )
    ]
    assert bending[1] >= slack * bending[0]
    # Near a round pipe the equation's own root jumps from none to one: above 0 it rises.
    if ovality > 0.0:
        assert bending[2] >= slack * bending[0]


@given(st.floats(1.0, 20.0), st.floats(1.0, 4.0))
def test_stiffer_soil_never_needs_more_wall(soil_modulus_mpa: float, factor: float) -> None:
    """The wall falls as the soil's modulus rises. Source: the textbook's table 7.9 (read)."""
    softer = replace(FULLY, ground=replace(GROUND, soil_modulus_mpa=soil_modulus_mpa))
    stiffer = replace(FULLY, ground=replace(GROUND, soil_modulus_mpa=soil_modulus_mpa * factor))

    assert dict(wall_thickness(stiffer).by_equation)["X1.3"] <= dict(
        wall_thickness(softer).by_equation
    )["X1.3"] * (1.0 + 1e-12)


@given(diameters, moduli)
def test_every_wall_grows_with_its_pipe(diameter_mm: float, modulus: float) -> None:
    """X1.4 is a ratio of wall to diameter."""
    assert stiff_thickness_mm(2.0 * diameter_mm, modulus) == pytest.approx(
        2.0 * stiff_thickness_mm(diameter_mm, modulus)
    )


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0), st.floats(0.0, 5.0))
def test_a_larger_pipe_never_catches_less_of_a_wheel(
    width: float, length: float, more: float
) -> None:
    """The coefficient is symmetric, between 0 and 1, and grows with the loaded area."""
    found = wheel_coefficient(width, length)

    assert 0.0 <= found <= 1.0 + 1e-12
    assert found == pytest.approx(wheel_coefficient(length, width), abs=1e-12)
    assert wheel_coefficient(width + more, length) >= found - 1e-12


@pytest.mark.parametrize(
    "change",
    [
        {"wheel_kn": -1.0},
        {"impact_factor": 0.9},
        {"coefficient": 1.1},
        {"diameter_mm": 0.0},
        {"effective_length_m": 0.0},
    ],
)
def test_a_wheel_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    """The message names the field."""
    usual = {
        "wheel_kn": 71.0,
        "impact_factor": 1.5,
        "coefficient": 0.04,
        "diameter_mm": 200.0,
        "effective_length_m": 0.9,
    }
    assert live_load_kpa(**usual) == pytest.approx(0.04 * 71.0 * 1.5 / (0.9 * 0.2))
    with pytest.raises(ValueError, match=next(iter(change))):
        live_load_kpa(**{**usual, **change})


@pytest.mark.parametrize("ratios", [(-0.1, 1.0), (1.0, float("nan"))])
def test_a_ratio_that_cannot_be_is_refused(ratios: tuple[float, float]) -> None:
    """A half width below nothing, or not a number."""
    with pytest.raises(ValueError, match="ratios"):
        wheel_coefficient(*ratios)


@pytest.mark.parametrize(
    ("ovality", "flags"),
    [
        (10.0, ()),  # the usual limit itself
        (10.01, ("unusual_ovality",)),
    ],
)
def test_the_usual_ovality_is_still_usual(ovality: float, flags: tuple[str, ...]) -> None:
    """Ten per cent are not named, more is."""
    assert wall_thickness(replace(FULLY, ovality_percent=ovality)).flags == flags


@pytest.mark.parametrize("percent", [-0.1, 100.0, 100.5, float("nan")])
def test_an_ovality_that_cannot_be_has_no_factor(percent: float) -> None:
    """A hundred per cent would be a pipe without an inside."""
    with pytest.raises(ValueError, match="ovality_percent"):
        ovality_factor(percent)
    assert ovality_factor(99.9) > 0.0


@pytest.mark.parametrize("strength", [0.0, -1.0, float("nan")])
def test_a_wall_without_strength_bends_at_once(strength: float) -> None:
    """No ratio of diameter to wall answers that; a little strength has one."""
    with pytest.raises(ValueError, match="strength_to_pressure"):
        bending_ratio(strength, 2.0)
    assert bending_ratio(0.001, 2.0) is not None


def test_a_load_of_nothing_is_a_load() -> None:
    """A pipe under a meadow: no wheel, a coefficient at its ends, an impact of 1."""
    usual = {"impact_factor": 1.0, "diameter_mm": 200.0, "effective_length_m": 0.9}

    assert replace(GROUND, live_load_kpa=0.0).total_kpa < GROUND.total_kpa
    assert live_load_kpa(wheel_kn=0.0, coefficient=1.0, **usual) == 0.0
    assert live_load_kpa(wheel_kn=10.0, coefficient=0.0, **usual) == 0.0
    with pytest.raises(ValueError, match="coefficient"):
        live_load_kpa(wheel_kn=10.0, coefficient=1.001, **usual)
