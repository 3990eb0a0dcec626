"""The inflation window: above the groundwater, below what anything may bear."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.inflation import InflationInputs, inflation_window, water_above_invert_m
from repairs.domain.units import FOOT_M, PSI_KPA

EIGHT_INCH = InflationInputs(
    groundwater_above_invert_m=0.0,
    groundwater_above_crown_m=None,
    diameter_mm=203.2,
    contact_margin_kpa=1.0 * PSI_KPA,
    packer_limit_kpa=10.0 * PSI_KPA,
    host_limit_kpa=6.0 * PSI_KPA,
    kit_limit_kpa=None,
    gauge_error_kpa=0.0,
)


@pytest.mark.parametrize(
    ("water_ft", "low_psi", "feasible"),
    [
        (0.0, 1.00, True),  # dry: only the margin
        (5.0, 3.17, True),
        (8.0, 4.47, True),
        (10.0, 5.34, True),
        (12.0, 6.20, False),  # more than the host pipe bears
    ],
)
def test_the_water_sets_the_low_end(water_ft: float, low_psi: float, *, feasible: bool) -> None:
    """Margin 1 psi, limits 10 and 6 psi: the study's table.

    Source: calculation study, B4 (0.4335 psi per ft read; table computed).
    """
    window = inflation_window(replace(EIGHT_INCH, groundwater_above_invert_m=water_ft * FOOT_M))

    assert window.low_kpa / PSI_KPA == pytest.approx(low_psi, abs=5e-3)
    assert window.high_kpa / PSI_KPA == pytest.approx(6.0)
    assert window.feasible is feasible


@pytest.mark.parametrize(
    ("pressure_psi", "water_ft"),
    [
        (4.5, 8.07),  # the usual small packer at its low end
        (5.0, 9.2),  # and at its high end
    ],
)
def test_the_usual_pressure_serves_some_groundwater(pressure_psi: float, water_ft: float) -> None:
    """4.5 psi serve 8.07 ft, 5 psi 9.2 ft of water at 1 psi margin. Source: as above."""
    window = inflation_window(replace(EIGHT_INCH, groundwater_above_invert_m=water_ft * FOOT_M))

    assert window.low_kpa / PSI_KPA == pytest.approx(pressure_psi, abs=0.02)


@pytest.mark.parametrize(
    ("above_invert_m", "above_crown_m", "water_m"),
    [
        (2.0, None, 2.0),  # said above the invert
        (None, 2.0, 2.2032),  # said above the crown: a diameter more above the invert
        (2.2032, 2.0, 2.2032),  # both, and they agree
        (2.25, 2.0, 2.25),  # both, 5 cm apart: the worse counts
        (0.05, -0.2032, 0.05),  # just the 5 cm that two rulers may differ
        (None, -0.1, 0.1032),  # the crown is dry, the invert is not
        (None, -5.0, 0.0),  # dry
    ],
)
def test_both_datums_are_understood(
    above_invert_m: float | None, above_crown_m: float | None, water_m: float
) -> None:
    """Invert and crown differ by the diameter."""
    inputs = replace(
        EIGHT_INCH,
        groundwater_above_invert_m=above_invert_m,
        groundwater_above_crown_m=above_crown_m,
    )

    assert water_above_invert_m(inputs) == pytest.approx(water_m)


@pytest.mark.parametrize(
    ("above_invert_m", "above_crown_m", "message"),
    [
        (2.0, 2.0, "differ by the diameter"),  # one figure typed into both fields
        (2.0, 3.0, "differ by the diameter"),  # the wrong way round
        (0.051, -0.2032, "differ by the diameter"),  # a millimetre more than two rulers may
        (None, None, "^groundwater: found none"),  # nobody said
        (-1.0, None, "^groundwater_above_invert_m"),  # below the invert is 0, not negative
        (None, -float("inf"), "^groundwater_above_crown_m"),  # no number
    ],
)
def test_groundwater_that_does_not_fit_is_refused(
    above_invert_m: float | None, above_crown_m: float | None, message: str
) -> None:
    """Two datums that contradict each other are not averaged."""
    with pytest.raises(ValueError, match=message):
        inflation_window(
            replace(
                EIGHT_INCH,
                groundwater_above_invert_m=above_invert_m,
                groundwater_above_crown_m=above_crown_m,
            )
        )


def test_the_gauge_error_narrows_both_ends() -> None:
    """A gauge off by 2 kPa needs 2 kPa more below and less above."""
    window = inflation_window(replace(EIGHT_INCH, gauge_error_kpa=2.0))

    assert window.low_kpa == pytest.approx(PSI_KPA + 2.0)
    assert window.high_kpa == pytest.approx(6.0 * PSI_KPA - 2.0)


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("packer_limit_kpa", 20.0, "packer"),  # the packer bears least
        ("host_limit_kpa", 20.0, "host pipe"),  # the pipe bears least
        ("kit_limit_kpa", 20.0, "kit"),  # the kit bears least
    ],
)
def test_the_weakest_limit_counts_and_is_named(field: str, value: float, named: str) -> None:
    """Where no pressure will do, the reason says what gives."""
    window = inflation_window(replace(EIGHT_INCH, groundwater_above_invert_m=6.0, **{field: value}))

    assert not window.feasible
    assert f"but the {named} bears" in window.reason
    assert window.high_kpa == 20.0


def test_a_window_of_one_pressure_is_still_one() -> None:
    """Low equal to high is feasible, a hair more is not."""
    at = EIGHT_INCH.contact_margin_kpa

    assert inflation_window(replace(EIGHT_INCH, kit_limit_kpa=at)).feasible
    assert not inflation_window(replace(EIGHT_INCH, kit_limit_kpa=at - 1e-6)).feasible


def test_the_window_is_worked_out_as_by_hand() -> None:
    """2 m of water, 7 kPa margin, a gauge off by 1 kPa: 27.6 to 44.0 kPa, line by line."""
    window = inflation_window(
        InflationInputs(
            groundwater_above_invert_m=2.0,
            groundwater_above_crown_m=None,
            diameter_mm=300.0,
            contact_margin_kpa=7.0,
            packer_limit_kpa=60.0,
            host_limit_kpa=45.0,
            kit_limit_kpa=None,
            gauge_error_kpa=1.0,
        )
    )

    assert window.reason == ("Keep the gauge between 27.6 kPa (4.00 psi) and 44.0 kPa (6.38 psi).")
    assert window.working[:3] == (
        (
            "Water above invert 2.00 m (6.562 ft) x 9.80665 kPa/m = 19.6 kPa (2.84 psi) "
            "(hydrostatics, 1000 kg/m3)."
        ),
        (
            "Low = 19.6 kPa (2.84 psi) + contact margin 7.0 kPa (1.02 psi) + gauge error 1.0 kPa "
            "(0.15 psi) = 27.6 kPa (4.00 psi)."
        ),
        (
            "High = limit of the host pipe 45.0 kPa (6.53 psi) - gauge error 1.0 kPa (0.15 psi) = "
            "44.0 kPa (6.38 psi)."
        ),
    )
    assert "an engineer's judgement" in window.working[3]


@pytest.mark.parametrize(
    ("field", "impossible", "least"),
    [
        ("diameter_mm", 0.0, 0.5),  # a pipe has a diameter
        ("packer_limit_kpa", 0.0, 0.5),  # what bears nothing is no packer
        ("host_limit_kpa", 0.0, 0.5),  # and no pipe
        ("kit_limit_kpa", 0.0, 0.5),  # and no kit
        ("contact_margin_kpa", -0.1, 0.0),  # no margin is poor, but a figure
        ("gauge_error_kpa", -0.1, 0.0),  # a perfect gauge is one
        ("groundwater_above_invert_m", -0.1, 0.0),  # a dry pipe
    ],
)
def test_impossible_figures_are_refused_by_name(
    field: str, impossible: float, least: float
) -> None:
    """The message names the field; the least figure that can be is taken."""
    with pytest.raises(ValueError, match=f"^{field}: found"):
        replace(EIGHT_INCH, **{field: impossible})
    with pytest.raises(ValueError, match=f"^{field}: found"):
        replace(EIGHT_INCH, **{field: float("nan")})

    assert getattr(replace(EIGHT_INCH, **{field: least}), field) == least


@given(water_m=st.floats(0.0, 20.0), more_m=st.floats(0.0, 5.0), error=st.floats(0.0, 5.0))
def test_more_water_never_lowers_the_low_end(water_m: float, more_m: float, error: float) -> None:
    """The low end rises with the water, the high end does not move."""
    shallow = inflation_window(
        replace(EIGHT_INCH, groundwater_above_invert_m=water_m, gauge_error_kpa=error)
    )
    deep = inflation_window(
        replace(EIGHT_INCH, groundwater_above_invert_m=water_m + more_m, gauge_error_kpa=error)
    )

    assert deep.low_kpa >= shallow.low_kpa
    assert deep.high_kpa == shallow.high_kpa
    assert shallow.feasible == (shallow.low_kpa <= shallow.high_kpa)
