"""What a repair needs: fitness first, then kit, resin, window and times with their working."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.fitness import Answer, rules_from
from repairs.domain.limits import limits_from
from repairs.domain.prescription import Conditions, DefectFacts, Prescribed, prescribe
from tests.chart_example import a_kit
from tests.contract_example import FITNESS_RULES, LIMITS

DEFECT = DefectFacts(
    defect_code="BAB",
    defect_extent_m=0.3,
    diameter_mm=300.0,
    material="concrete",
    groundwater_above_invert_m=0.5,
    host_limit_kpa=None,
    infiltration="none",
    offset_mm=0.0,
    deformation_percent=0.0,
    roots=False,
    deposits=False,
    void_behind=False,
    connection_in_sleeve=False,
    inspection_filmed=True,
)
MILD = Conditions(wall_temperature_c=20.0, resin_temperature_c=20.0)


def prescribed(
    *, defect: dict[str, Any] | None = None, conditions: Conditions = MILD, kits: Any = None
) -> Prescribed:
    """Prescribe under the example contract, with some facts changed."""
    return prescribe(
        replace(DEFECT, **(defect or {})),
        conditions,
        limits_from(LIMITS),
        rules_from(FITNESS_RULES),
        [a_kit()] if kits is None else kits,
    )


def test_a_fit_defect_gets_everything() -> None:
    """One sleeve of 1.0 m, the usual pressure, both times by their charts."""
    found = prescribed()

    assert found.fitness.answer is Answer.YES
    p = found.prescription
    assert p is not None
    assert (p.fit.sleeve_length_m, p.fit.count, p.target_kpa) == (1.0, 1, 33.0)
    assert (p.working_min, p.cure_min) == (33.0, 105.0)


def test_the_resin_fills_the_glass() -> None:
    """Between pi d l t (1 - fibre share), worked by hand, and that with all losses on top.

    pi x 0.300 m x 1.0 m x 0.004 m x 0.75 = 2.827 L; losses of 5 % and 10 %.
    """
    p = prescribed().prescription
    assert p is not None

    bare_l = 3.14159265 * 0.300 * 1.0 * 0.004 * 0.75 * 1000
    assert bare_l <= p.resin.volume_l <= bare_l * 1.05 * 1.10 * 1.05
    assert p.resin.part_a_kg + p.resin.part_b_kg == pytest.approx(p.resin.mass_kg)
    # Two parts to one by volume: masses stand as the densities make them.
    assert p.resin.part_a_kg / p.resin.part_b_kg == pytest.approx(2 * 1450 / 1130)


def test_a_defect_that_may_not_be_repaired_gets_reasons_and_no_kit() -> None:
    """'No' never comes with a prescription beside it."""
    found = prescribed(defect={"defect_code": "BAC"})

    assert found.fitness.answer is Answer.NO
    assert found.prescription is None


def test_yes_after_comes_with_the_prescription_and_its_condition() -> None:
    """Roots are cut first; what is needed then is known already."""
    found = prescribed(defect={"roots": True})

    assert found.fitness.answer is Answer.YES_AFTER
    assert found.prescription is not None


def test_one_cause_gives_one_reason() -> None:
    """Without a kit for the bore nothing is said of sleeves or window."""
    found = prescribed(defect={"diameter_mm": 900.0})

    assert [reason.code for reason in found.fitness.reasons] == ["kit_for_diameter_no"]


def test_unknown_groundwater_cannot_be_prescribed() -> None:
    """The window is not known, so the verdict is 'cannot tell' and there is no number."""
    found = prescribed(defect={"groundwater_above_invert_m": None})

    assert found.fitness.answer is Answer.CANNOT_TELL
    assert found.prescription is None


@pytest.mark.parametrize(
    ("groundwater_m", "target_kpa"),
    [
        (0.0, 33.0),  # the usual pressure lies inside the window
        (2.5, 33.0),  # low end 24.5 + 6.9 + 0.7 = 32.1 kPa
        (3.0, 3.0 * 9.80665 + 6.9 + 0.7),  # low end 37.0 kPa lifts it (9.80665 kPa a metre)
    ],
)
def test_the_target_is_the_usual_pressure_kept_inside_the_window(
    groundwater_m: float, target_kpa: float
) -> None:
    """Groundwater can lift the pressure, never let it fall below the window."""
    p = prescribed(defect={"groundwater_above_invert_m": groundwater_m}).prescription

    assert p is not None
    assert p.target_kpa == pytest.approx(target_kpa)


def test_water_stronger_than_the_kit_means_no() -> None:
    """Five metres need 56.6 kPa; the kit bears 49.3."""
    found = prescribed(defect={"groundwater_above_invert_m": 5.0})

    assert found.fitness.answer is Answer.NO
    assert [reason.code for reason in found.fitness.reasons] == ["window_feasible_no"]


def test_a_weaker_packer_or_pipe_lowers_the_window() -> None:
    """The lowest of the limits counts, with the gauge's error taken off."""
    weak = Conditions(20.0, 20.0, packer_limit_kpa=30.0)

    by_packer = prescribed(conditions=weak).prescription
    by_pipe = prescribed(defect={"host_limit_kpa": 25.0}).prescription

    assert by_packer is not None
    assert by_pipe is not None
    assert by_packer.target_kpa == by_packer.window.high_kpa == pytest.approx(29.3)
    assert by_pipe.target_kpa == pytest.approx(24.3)


@pytest.mark.parametrize(
    ("wall_c", "cure_min"),
    [
        (9.9, None),  # colder than the chart: no number, never a guess
        (10.0, 240.0),
        (14.9, 240.0),  # between two rows the colder one counts
        (15.0, 160.0),
        (30.0, 55.0),
        (45.0, 55.0),  # hotter than the chart is no faster
    ],
)
def test_the_cure_time_is_the_charts_colder_row(wall_c: float, cure_min: float | None) -> None:
    """A computed time never shortens the maker's chart."""
    p = prescribed(conditions=Conditions(wall_c, 20.0)).prescription

    assert p is not None
    assert p.cure_min == cure_min


@pytest.mark.parametrize(
    ("resin_c", "low", "high"),
    [
        (30.0, 18.0, 18.0),
        (20.0, 33.0, 33.0),
        (22.0, 25.0, 33.0),  # between its two rows
        (10.0, 60.0, 60.0),
        (5.0, 60.0, 60.0),  # cold gives no credit
    ],
)
def test_the_working_time_stays_between_the_charts_rows(
    resin_c: float, low: float, high: float
) -> None:
    """Warm resin has less time; colder than the chart it gets no more."""
    p = prescribed(conditions=Conditions(20.0, resin_c)).prescription

    assert p is not None
    assert p.working_min is not None
    assert low - 1e-9 <= p.working_min <= high + 1e-9


def test_resin_hotter_than_the_chart_has_no_working_time() -> None:
    """It may gel at any moment: there is no number, and the words say to cool it."""
    p = prescribed(conditions=Conditions(20.0, 30.1)).prescription

    assert p is not None
    assert p.working_min is None
    assert any("cool the resin first" in line for line in p.lines)


def test_the_working_shows_pressure_times_and_their_charts() -> None:
    """An engineer can follow it: sources and numbers stand in the lines."""
    p = prescribed().prescription
    assert p is not None
    text = "\n".join(p.lines)

    for said in ("Inflate to 33.0 kPa", "cure invented 1", "working invented 1", "colder row"):
        assert said in text


@given(
    groundwater_m=st.none() | st.floats(0, 10),
    extent_m=st.floats(0, 6),
    wall_c=st.floats(-20, 60),
    resin_c=st.floats(-20, 60),
    diameter_mm=st.sampled_from([100.0, 250.0, 300.0, 600.0]),
)
def test_whatever_is_prescribed_is_safe(
    groundwater_m: float | None, extent_m: float, wall_c: float, resin_c: float, diameter_mm: float
) -> None:
    """No prescription beside a 'no'; the target inside the window; no time below the chart's."""
    found = prescribed(
        defect={
            "groundwater_above_invert_m": groundwater_m,
            "defect_extent_m": extent_m,
            "diameter_mm": diameter_mm,
        },
        conditions=Conditions(wall_c, resin_c),
    )

    if found.fitness.answer is Answer.NO:
        assert found.prescription is None
    if found.prescription is not None:
        p = found.prescription
        assert p.window.low_kpa - 1e-9 <= p.target_kpa <= p.window.high_kpa + 1e-9
        assert p.cure_min is None or p.cure_min >= 55.0
        assert (p.cure_min is None) is (wall_c < 10.0)
        assert p.fit.covered_m >= extent_m + 2 * 0.15 - 1e-9
