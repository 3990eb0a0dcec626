"""Kinetic models: hotter is never later, and a resin that freezes gets no time at all."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.dose import Profile
from repairs.domain.kinetics import (
    KineticModel,
    KineticStatus,
    isothermal_estimate,
    kinetic_estimate,
)
from repairs.domain.rate_law import Autocatalytic, VitrificationLimit

LAW = Autocatalytic(2.2e7, 55.0, 2.2e8, 55.0, 1.0, 1.0, None)
"""Synthetic: 120 min at 20 °C to a conversion of 0.9. No real resin."""
FREEZING = replace(LAW, limit=VitrificationLimit(0.55, 0.012))
MODEL = KineticModel(LAW, 0.0, 0.9)
temperatures = st.floats(min_value=2.0, max_value=35.0)


def _profile(at_c: list[float], step_min: float = 30.0) -> Profile:
    column = np.array(at_c)
    return Profile(step_min * np.arange(column.size + 1.0), column, column)


@pytest.mark.parametrize(
    ("at_c", "final"),
    [(5.0, 0.61), (10.0, 0.67), (20.0, 0.79), (30.0, 0.91)],
)
def test_a_cold_resin_freezes_below_its_target(at_c: float, final: float) -> None:
    """A target of 0.90 is never reached at 5 to 20 °C, and no time is given.

    Source: the study's toy limit, 0.55 + 0.012 T (synthetic).
    """
    model = KineticModel(FREEZING, 0.0, 0.90)
    found = kinetic_estimate(model, _profile([at_c] * 100, 240.0), at_c)

    if final < 0.90:
        assert found.status is KineticStatus.TARGET_NOT_REACHED
        assert found.minutes is None
        assert found.conversion == pytest.approx(final, abs=1e-3)
        assert "not reached" in " ".join(found.working)
    else:
        assert found.status is KineticStatus.REACHED


def test_freezing_only_lengthens() -> None:
    """Where the frozen conversion lies above the target, the target comes later."""
    free = isothermal_estimate(KineticModel(LAW, 0.0, 0.85), 30.0).minutes
    held = isothermal_estimate(KineticModel(FREEZING, 0.0, 0.85), 30.0).minutes

    assert free is not None
    assert held is not None
    assert held > free


def test_a_law_that_needs_a_first_bit_never_starts_from_nothing() -> None:
    """Without the first of both terms a conversion of 0 stays 0."""
    law = replace(LAW, factor_1_per_min=0.0)

    assert isothermal_estimate(KineticModel(law, 0.0, 0.9), 20.0).minutes is None
    assert isothermal_estimate(KineticModel(law, 0.001, 0.9), 20.0).minutes is not None


def test_more_than_thirty_days_are_not_reached() -> None:
    """A time nobody waits for is no time."""
    slow = replace(LAW, factor_1_per_min=1.0, factor_2_per_min=1.0)

    found = isothermal_estimate(KineticModel(slow, 0.0, 0.9), 5.0)

    assert found.status is KineticStatus.TARGET_NOT_REACHED


def test_nothing_is_credited_where_nothing_is_known() -> None:
    """A silence of an hour counts for nothing, as in the dose."""
    silent = kinetic_estimate(MODEL, _profile([20.0, float("nan"), float("nan")]), 20.0)
    steady = isothermal_estimate(MODEL, 20.0)

    assert silent.minutes is not None
    assert steady.minutes is not None
    assert silent.minutes == pytest.approx(steady.minutes + 60.0, rel=1e-7)


@given(temperatures, st.floats(0.0, 5.0))
def test_hotter_is_never_later(at_c: float, more_k: float) -> None:
    """At one temperature."""
    colder, hotter = (isothermal_estimate(MODEL, each).minutes for each in (at_c, at_c + more_k))

    assert colder is not None
    assert hotter is not None
    assert hotter <= colder * (1.0 + 1e-9)


@given(st.lists(temperatures, min_size=1, max_size=6), st.integers(0, 5), st.floats(0.0, 5.0))
def test_a_hotter_log_is_never_later(at_c: list[float], which: int, more_k: float) -> None:
    """Through a log, one stretch warmed."""
    warmed = list(at_c)
    warmed[which % len(at_c)] += more_k
    colder = kinetic_estimate(MODEL, _profile(at_c), at_c[-1])
    hotter = kinetic_estimate(MODEL, _profile(warmed), at_c[-1])

    assert colder.minutes is not None
    assert hotter.minutes is not None
    assert hotter.minutes <= colder.minutes * (1.0 + 1e-7)


@given(st.floats(0.05, 0.9), st.floats(0.0, 0.09))
def test_a_higher_target_is_never_earlier(target: float, more: float) -> None:
    """At one temperature."""
    first, second = (
        isothermal_estimate(KineticModel(LAW, 0.0, each), 20.0).minutes
        for each in (target, target + more)
    )

    assert first is not None
    assert second is not None
    assert second >= first * (1.0 - 1e-9)


@pytest.mark.parametrize(
    ("initial", "target"), [(0.0, 1.0), (0.5, 0.5), (-0.1, 0.9), (0.0, 0.0), (0.0, float("nan"))]
)
def test_a_target_that_is_none_is_refused(initial: float, target: float) -> None:
    """A cure starts below its target, and 1 takes for ever."""
    with pytest.raises(ValueError, match="target"):
        KineticModel(LAW, initial, target)


@pytest.mark.parametrize(
    "change",
    [
        {"factor_1_per_min": -1.0},
        {"energy_2_kj_mol": float("nan")},
        {"order_m": -0.1},
        {"order_n": 0.0},
        {"factor_1_per_min": 0.0, "factor_2_per_min": 0.0},
    ],
)
def test_a_law_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=f"^{next(iter(change))}"):
        replace(LAW, **change)


@pytest.mark.parametrize("limit", [(1.1, 0.0), (-0.1, 0.0), (0.5, -0.01), (0.5, float("inf"))])
def test_a_limit_that_cannot_be_is_refused(limit: tuple[float, float]) -> None:
    """A conversion lies between 0 and 1, and warmth never lowers it."""
    with pytest.raises(ValueError, match=r"at_zero_c|per_k"):
        VitrificationLimit(*limit)


@pytest.mark.parametrize(
    ("limit", "at_c", "highest"),
    [
        ((0.0, 0.03), 20.0, 0.6),  # from nothing at 0 °C
        ((1.0, 0.0), 20.0, 1.0),  # no limit at all
        ((0.8, 0.0), 20.0, 0.8),  # the same at any temperature
        ((0.9, 0.01), 20.0, 1.0),  # never more than all
        ((0.1, 0.01), -20.0, 0.0),  # nor less than nothing
    ],
)
def test_a_limit_lies_between_nothing_and_all(
    limit: tuple[float, float], at_c: float, highest: float
) -> None:
    """Both ends are limits that can be."""
    assert VitrificationLimit(*limit).at(at_c) == pytest.approx(highest)


@pytest.mark.parametrize("conversion", [0.9, 0.95, 1.0, 1.1])
def test_a_frozen_or_whole_cure_stands_still(conversion: float) -> None:
    """At and above the highest conversion nothing more is gained."""
    law = replace(LAW, limit=VitrificationLimit(0.9, 0.0))

    assert law.rate_per_min(conversion, 20.0) == 0.0
    assert law.rate_per_min(0.89, 20.0) > 0.0


def test_without_scipy_everything_else_works_and_the_model_says_what_is_missing() -> None:
    """The extra is optional: the import stands, and the message names it."""
    program = """
import sys
sys.modules["scipy"] = sys.modules["scipy.integrate"] = None
from repairs.domain.cure_release import KineticModel
from repairs.domain.kinetics import isothermal_estimate
from repairs.domain.rate_law import Autocatalytic
law = Autocatalytic(1.0, 50.0, 1.0, 50.0, 1.0, 1.0, None)
try:
    isothermal_estimate(KineticModel(law, 0.0, 0.9), 20.0)
except RuntimeError as error:
    print(error)
"""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )

    assert "'kinetics'" in done.stdout
    assert "Everything else works" in done.stdout
