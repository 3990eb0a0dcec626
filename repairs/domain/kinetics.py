"""When a kinetic model of the resin reaches its target: optional, and only ever later.

Needs SciPy, the optional extra ``kinetics``; nothing else in the program does. A model
that freezes below its target gives no time at all: `target_not_reached`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from repairs.domain.dose import Profile
from repairs.domain.rate_law import RateLaw

try:
    from scipy.integrate import quad, solve_ivp  # type: ignore[import-untyped]
except ImportError:  # the extra is not installed: everything else works without it
    quad = solve_ivp = None

LONGEST_MIN = 43_200.0
"""Thirty days: what takes longer is not reached. Source: common practice, none published."""
_RELATIVE, _ABSOLUTE = 1e-10, 1e-12
_QUAD_RELATIVE, _QUAD_PIECES = 1e-11, 500
_WORST_ERROR = 1e-6
_STANDING_PER_MIN = 1e-15
"""A rate below this is none: a numerical limit, far below any resin's."""


class KineticStatus(StrEnum):
    """Whether the model ever gets there."""

    REACHED = "reached"
    TARGET_NOT_REACHED = "target_not_reached"


@dataclass(frozen=True, slots=True)
class KineticModel:
    """A resin's rate law, where it starts, and what counts as cured.

    Parameters
    ----------
    law
        The rate of conversion.
    initial_conversion
        At the start, 0 to below the target; above 0 for a law that needs a first bit.
    target
        Conversion that counts as cured, above 0 and below 1.
    """

    law: RateLaw
    initial_conversion: float
    target: float

    def __post_init__(self) -> None:
        """Refuse a target that is none."""
        if not 0.0 <= self.initial_conversion < self.target < 1.0:
            raise ValueError(
                f"initial_conversion, target: found {self.initial_conversion!r} and "
                f"{self.target!r}, expected 0 <= initial < target < 1."
            )


@dataclass(frozen=True, slots=True)
class KineticEstimate:
    """What a model says.

    Parameters
    ----------
    status
        Whether the target is reached within thirty days.
    minutes
        Minutes after the start; None when it is not.
    conversion
        At the end of the temperatures that were measured.
    working
        Lines as an engineer would write them.
    """

    status: KineticStatus
    minutes: float | None
    conversion: float
    working: tuple[str, ...]


def kinetic_estimate(model: KineticModel, past: Profile, future_c: float) -> KineticEstimate:
    """Follow a model through measured temperatures, then at one that holds.

    Parameters
    ----------
    model
        The resin.
    past
        Temperatures until now, minute 0 being the start; NaN cures nothing.
    future_c
        Temperature from then on.

    Returns
    -------
    KineticEstimate
        The minute at which the target is reached, or that it is not.

    Raises
    ------
    RuntimeError
        When SciPy is not installed.
    ArithmeticError
        When the integral does not settle.

    Source
    ------
    Numerical integration (LSODA over the log, adaptive quadrature after it); vectors in
    tests/reference/test_kinetics_vectors.py.

    Limits
    ------
    No better than the model: published ones were measured at 60 degC and above, and
    self-heating is left out, which is the safe side for cure.
    """
    _need_scipy()
    conversion, minute = _through(model, past)
    if minute is None:
        further_min = _isothermal(replace(model, initial_conversion=conversion), future_c)
        minute = None if further_min is None else float(past.minutes[-1]) + further_min
    return _estimate(model, minute, conversion, future_c)


def isothermal_estimate(model: KineticModel, temperature_c: float) -> KineticEstimate:
    """Reckon the time at one temperature: the integral of ``da / rate``.

    Parameters, Raises, Source and Limits are those of `kinetic_estimate`.

    Returns
    -------
    KineticEstimate
        Minutes from the initial conversion to the target.
    """
    _need_scipy()
    minute = _isothermal(model, temperature_c)
    return _estimate(model, minute, model.initial_conversion, temperature_c)


def _estimate(
    model: KineticModel, minute: float | None, conversion: float, future_c: float
) -> KineticEstimate:
    reached = minute is not None and minute <= LONGEST_MIN
    last = (
        f"Target {model.target:g} reached {minute:.1f} min after the start."
        if reached
        else f"Target {model.target:g} is not reached within {LONGEST_MIN / 1440.0:g} days: the "
        "resin freezes or is too cold. Warm the pipe or ask the maker."
    )
    return KineticEstimate(
        status=KineticStatus.REACHED if reached else KineticStatus.TARGET_NOT_REACHED,
        minutes=minute if reached else None,
        conversion=conversion,
        working=(
            (
                f"Conversion {conversion:.4f} now, from {model.initial_conversion:g} (kinetic "
                f"model, integrated over the log; {future_c:.1f} °C taken to hold from now on)."
            ),
            last,
            "A kinetic model may only lengthen the hold; it never shortens the maker's chart.",
        ),
    )


class _StoodStillError(Exception):
    """The rate fell to nothing on the way."""


def _isothermal(model: KineticModel, temperature_c: float) -> float | None:
    def minutes_a_conversion(conversion: float) -> float:
        rate = model.law.rate_per_min(conversion, temperature_c)
        if rate < _STANDING_PER_MIN:
            raise _StoodStillError
        return 1.0 / rate

    try:
        # The rule of quad never looks at the two ends.
        minutes_a_conversion(model.initial_conversion)
        minutes_a_conversion(model.target)
        minutes, error, *_ = quad(
            minutes_a_conversion,
            model.initial_conversion,
            model.target,
            epsabs=0.0,
            epsrel=_QUAD_RELATIVE,
            limit=_QUAD_PIECES,
            full_output=1,
        )
    except _StoodStillError:
        return None
    if not error <= _WORST_ERROR * minutes:
        raise ArithmeticError(f"kinetics: found an error of {error:g} min, expected it to settle.")
    return float(minutes)


def _through(model: KineticModel, past: Profile) -> tuple[float, float | None]:
    """Return the conversion at the end of a profile, and when the target was reached, if."""
    conversion = model.initial_conversion
    columns = (past.minutes[:-1], np.diff(past.minutes), past.start_c, past.end_c)
    for begin, length, start_c, end_c in zip(*(each.tolist() for each in columns), strict=True):
        # A NaN, where nothing is credited, compares as false.
        if not (length > 0.0 and start_c > -np.inf and end_c > -np.inf):
            continue
        conversion, minute = _one_interval(model, conversion, length, (start_c, end_c))
        if minute is not None:
            return conversion, begin + minute
    return conversion, None


def _one_interval(
    model: KineticModel, conversion: float, length_min: float, ends_c: tuple[float, float]
) -> tuple[float, float | None]:
    start_c, rise_c = ends_c[0], (ends_c[1] - ends_c[0]) / length_min

    def rate(minute: float, state: Any) -> list[float]:
        return [model.law.rate_per_min(float(state[0]), start_c + rise_c * minute)]

    found = solve_ivp(
        rate,
        (0.0, length_min),
        [conversion],
        method="LSODA",
        events=_at_target(model.target),
        rtol=_RELATIVE,
        atol=_ABSOLUTE,
    )
    if found.status < 0:
        raise ArithmeticError(f"kinetics: {found.message}")
    end = min(float(found.y[0, -1]), model.target)
    if found.t_events[0].size:
        return model.target, float(found.t_events[0][0])
    # Within a rounding of the target without the event: the next stretch goes on from below.
    return min(end, float(np.nextafter(model.target, 0.0))), None


def _at_target(target: float) -> Callable[[float, Any], float]:
    def left(_minute: float, state: Any) -> float:
        return float(target - state[0])

    left.terminal = True  # type: ignore[attr-defined]
    return left


def _need_scipy() -> None:
    if quad is None:
        raise RuntimeError(
            "Kinetic models need SciPy, which is not installed here: install the extra "
            "'kinetics'. Everything else works without it."
        )
