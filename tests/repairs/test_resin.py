"""How much resin a sleeve takes, and how much of each part."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.resin import (
    RatioBasis,
    ResinInputs,
    fibre_mass_fraction,
    mass_share_of_a,
    resin_masses,
    wall_volume_l,
)

THREE_FEET = ResinInputs(
    diameter_mm=200.0,
    length_m=0.9144,
    thickness_mm=5.0,
    fibre_volume_fraction=0.35,
    density_mixed_kg_m3=1100.0,
    density_a_kg_m3=1150.0,
    density_b_kg_m3=980.0,
    ratio_a=100.0,
    ratio_b=38.0,
    ratio_basis=RatioBasis.MASS,
    host_loss_fraction=0.0,
    waste_fraction=0.1,
    density_fibre_kg_m3=2540.0,
)


def test_the_worked_example_is_met() -> None:
    """200 mm, 0.9144 m, 5 mm, 35 % glass, 10 % waste: 2.20287 kg, 1.5963 + 0.6066.

    Source: D-resin of core_reference.csv (glass mass x weight ratio, an independent route).
    """
    masses = resin_masses(THREE_FEET)

    assert masses.mass_kg == pytest.approx(2.202872862061005, rel=1e-12)
    assert masses.volume_l == pytest.approx(2.0026, abs=5e-5)
    assert masses.part_a_kg == pytest.approx(1.5963, abs=5e-5)
    assert masses.part_b_kg == pytest.approx(0.6066, abs=5e-5)


def test_the_wall_is_the_difference_of_two_cylinders() -> None:
    """The tube formula equals outer less inner cylinder: 2.8008555 L.

    Source: D-volume of core_reference.csv (annulus difference).
    """
    annulus_l = math.pi / 4.0 * (0.2**2 - 0.19**2) * 0.9144 * 1000.0

    assert wall_volume_l(200.0, 5.0, 0.9144) == pytest.approx(annulus_l, rel=1e-12)
    assert wall_volume_l(200.0, 5.0, 0.9144) == pytest.approx(2.8008555143814494, rel=1e-12)


def test_glass_by_mass_follows_from_glass_by_volume() -> None:
    """35 % by volume is 55.42 % by mass. Source: calculation study, D."""
    assert fibre_mass_fraction(0.35, 2540.0, 1100.0) == pytest.approx(0.5542, abs=5e-5)


def test_a_ratio_by_volume_is_not_one_by_mass() -> None:
    """2:1 by volume at 1150 and 980 kg/m3 is 2.347:1 by mass, 17 % off if confused.

    Source: calculation study, D.
    """
    by_volume = replace(THREE_FEET, ratio_a=2.0, ratio_b=1.0, ratio_basis=RatioBasis.VOLUME)
    share = mass_share_of_a(by_volume)

    assert share / (1.0 - share) == pytest.approx(2.347, abs=5e-4)
    masses = resin_masses(by_volume)
    assert masses.part_a_l / masses.part_b_l == pytest.approx(2.0)


def test_a_published_kit_sum_is_met() -> None:
    """40 lb of resin mixed 4:1 are 32 and 8 lb. Source: trade article, read; by mass."""
    inputs = replace(THREE_FEET, ratio_a=4.0, ratio_b=1.0)

    assert 40.0 * mass_share_of_a(inputs) == pytest.approx(32.0)


def test_loss_into_the_host_pipe_comes_on_top_of_waste() -> None:
    """Cracks take resin from the wall; the pot keeps its share of all of it."""
    more = resin_masses(replace(THREE_FEET, host_loss_fraction=0.2))

    assert more.mass_kg == pytest.approx(1.2 * resin_masses(THREE_FEET).mass_kg)


@pytest.mark.parametrize(
    ("field", "value", "flag"),
    [
        ("fibre_volume_fraction", 0.60, "unusual_fibre_share"),  # too dry to be by hand
        ("thickness_mm", 1.5, "unusual_thickness"),  # hardly a layer
        ("waste_fraction", 0.31, "unusual_waste"),  # a third in the pot?
        ("density_mixed_kg_m3", 1400.0, "unusual_density"),  # filled, or a typing error
        ("density_mixed_kg_m3", 1200.0, "densities_disagree"),  # more than both parts
    ],
)
def test_unusual_figures_are_named_not_refused(field: str, value: float, flag: str) -> None:
    """A doubtful figure is a question, and the sum is done all the same."""
    flags = resin_masses(replace(THREE_FEET, **{field: value})).flags

    assert flag in flags


def test_usual_figures_raise_no_question() -> None:
    """The worked example, and a share of glass at the bound, carry no flag."""
    at_bound = replace(THREE_FEET, fibre_volume_fraction=0.15, density_fibre_kg_m3=None)

    assert resin_masses(THREE_FEET).flags == ()
    assert resin_masses(at_bound).flags == ()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("diameter_mm", 0.0),  # no pipe
        ("length_m", -1.0),  # no sleeve
        ("thickness_mm", 100.0),  # a plug, not a sleeve
        ("fibre_volume_fraction", 1.0),  # no room for resin
        ("ratio_b", 0.0),  # no hardener
        ("waste_fraction", -0.1),  # waste is not won back
        ("density_a_kg_m3", float("nan")),  # not a number
        ("ratio_basis", "weight"),  # must be mass or volume
    ],
)
def test_impossible_figures_are_refused_by_name(field: str, value: object) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=field):
        replace(THREE_FEET, **{field: value})


sleeves = st.builds(
    ResinInputs,
    diameter_mm=st.floats(100.0, 600.0),
    length_m=st.floats(0.3, 3.0),
    thickness_mm=st.floats(2.0, 15.0),
    fibre_volume_fraction=st.floats(0.0, 0.7),
    density_mixed_kg_m3=st.floats(900.0, 1400.0),
    density_a_kg_m3=st.floats(900.0, 1400.0),
    density_b_kg_m3=st.floats(900.0, 1400.0),
    ratio_a=st.floats(0.5, 100.0),
    ratio_b=st.floats(0.5, 100.0),
    ratio_basis=st.sampled_from(RatioBasis),
    host_loss_fraction=st.floats(0.0, 0.5),
    waste_fraction=st.floats(0.0, 0.5),
)


@given(inputs=sleeves)
def test_the_parts_sum_to_the_whole_in_their_ratio(inputs: ResinInputs) -> None:
    """A + B is the mixed mass, and their ratio is the maker's on its own basis."""
    masses = resin_masses(inputs)

    assert masses.part_a_kg + masses.part_b_kg == pytest.approx(masses.mass_kg, rel=1e-12)
    by_mass = inputs.ratio_basis == RatioBasis.MASS
    a, b = (masses.part_a_kg, masses.part_b_kg) if by_mass else (masses.part_a_l, masses.part_b_l)
    assert a / b == pytest.approx(inputs.ratio_a / inputs.ratio_b, rel=1e-9)


@given(inputs=sleeves, factor=st.floats(1.0, 3.0))
def test_a_longer_sleeve_takes_more_in_proportion(inputs: ResinInputs, factor: float) -> None:
    """Resin is proportional to length."""
    longer = resin_masses(replace(inputs, length_m=inputs.length_m * factor))

    assert longer.mass_kg == pytest.approx(factor * resin_masses(inputs).mass_kg, rel=1e-9)


@given(inputs=sleeves, more=st.floats(0.0, 0.2))
def test_more_glass_takes_less_resin(inputs: ResinInputs, more: float) -> None:
    """Glass fills what resin would."""
    denser = replace(inputs, fibre_volume_fraction=inputs.fibre_volume_fraction + more)

    assert resin_masses(denser).mass_kg <= resin_masses(inputs).mass_kg * (1 + 1e-12)
