"""The pressure window of a packer: above the groundwater, below what anything may bear.

Groundwater has two datums. Above the invert it is the higher figure by a diameter;
a single "groundwater depth" would be wrong by that much, so the two are kept apart.
"""

import math
from dataclasses import dataclass

from repairs.domain.units import STANDARD_GRAVITY_M_S2, Dimension, words

WATER_KPA_PER_M = STANDARD_GRAVITY_M_S2
"""Head of 1 m of water at 1000 kg/m3: 9.80665 kPa, which is 0.43353 psi per foot.

Source: hydrostatics; 0.4335 psi per foot is read in c4_head_gas of the check values.
"""
DATUM_TOLERANCE_M = 0.05
"""How far two groundwater figures may disagree about the diameter. Source: common practice."""

_CAUTION = (
    "The arithmetic is checked here, the limits are not: those of packer and kit are their "
    "makers', that of a cracked pipe is an engineer's judgement."
)


@dataclass(frozen=True, slots=True)
class InflationInputs:
    """What bounds the inflation pressure; all pressures gauge.

    Parameters
    ----------
    groundwater_above_invert_m, groundwater_above_crown_m
        Water level over the pipe's invert, >= 0, and over its crown (negative when the
        crown is dry). Give one, or both.
    diameter_mm
        Inside diameter of the host pipe, > 0.
    contact_margin_kpa
        Pressure wanted on the wall beyond the water's, the maker's figure, >= 0.
    packer_limit_kpa, host_limit_kpa, kit_limit_kpa
        Highest pressure each may bear; None where nobody stated one.
    gauge_error_kpa
        How far the gauge may be off, >= 0; taken off both ends.
    """

    groundwater_above_invert_m: float | None
    groundwater_above_crown_m: float | None
    diameter_mm: float
    contact_margin_kpa: float
    packer_limit_kpa: float
    host_limit_kpa: float | None
    kit_limit_kpa: float | None
    gauge_error_kpa: float

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name, value, lowest in (
            ("groundwater_above_invert_m", self.groundwater_above_invert_m, 0.0),
            ("groundwater_above_crown_m", self.groundwater_above_crown_m, -math.inf),
            ("contact_margin_kpa", self.contact_margin_kpa, 0.0),
            ("gauge_error_kpa", self.gauge_error_kpa, 0.0),
        ):
            if value is not None and not (math.isfinite(value) and value >= lowest):
                raise ValueError(f"{name}: found {value!r}, expected a number of 0 or more.")
        for name, value in (
            ("diameter_mm", self.diameter_mm),
            ("packer_limit_kpa", self.packer_limit_kpa),
            ("host_limit_kpa", self.host_limit_kpa),
            ("kit_limit_kpa", self.kit_limit_kpa),
        ):
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"{name}: found {value!r}, expected a number above 0.")


@dataclass(frozen=True, slots=True)
class InflationWindow:
    """The window a gauge reading must stay in, or why there is none."""

    low_kpa: float
    high_kpa: float
    feasible: bool
    reason: str
    working: tuple[str, ...]


def inflation_window(inputs: InflationInputs) -> InflationWindow:
    """Compute the pressure window of a repair.

    ``low = 9.80665 kPa/m x water above invert + contact margin + gauge error``;
    ``high = lowest of the limits - gauge error``.

    Parameters
    ----------
    inputs
        Water, limits and gauge error.

    Returns
    -------
    InflationWindow
        ``feasible`` is False where the low end lies above the high end: then the water
        must be lowered or another way of repair chosen.

    Raises
    ------
    ValueError
        When no groundwater figure is given, or the two do not differ by the diameter.

    Source
    ------
    Hydrostatics. A margin of 1 psi (6.9 kPa) is common practice without a source.

    Limits
    ------
    Sewage standing in a connected lateral presses too: use the higher of the two levels.
    """
    water_m = water_above_invert_m(inputs)
    head_kpa = WATER_KPA_PER_M * water_m
    low_kpa = head_kpa + inputs.contact_margin_kpa + inputs.gauge_error_kpa
    limit_kpa, limit_name = min(_limits(inputs))
    high_kpa = limit_kpa - inputs.gauge_error_kpa
    feasible = low_kpa <= high_kpa
    return InflationWindow(
        low_kpa=low_kpa,
        high_kpa=high_kpa,
        feasible=feasible,
        reason=_reason(low_kpa, high_kpa, limit_name, feasible=feasible),
        working=(
            (
                f"Water above invert {words(water_m, Dimension.LENGTH, 2)} x "
                f"{WATER_KPA_PER_M:.5f} kPa/m = {_p(head_kpa)} (hydrostatics, 1000 kg/m3)."
            ),
            (
                f"Low = {_p(head_kpa)} + contact margin {_p(inputs.contact_margin_kpa)} + "
                f"gauge error {_p(inputs.gauge_error_kpa)} = {_p(low_kpa)}."
            ),
            (
                f"High = limit of the {limit_name} {_p(limit_kpa)} - gauge error "
                f"{_p(inputs.gauge_error_kpa)} = {_p(high_kpa)}."
            ),
            _CAUTION,
        ),
    )


def water_above_invert_m(inputs: InflationInputs) -> float:
    """Return the water level over the invert, from whichever datum was given.

    Raises
    ------
    ValueError
        When none is given, or the two given do not differ by the diameter.
    """
    above_invert_m = inputs.groundwater_above_invert_m
    above_crown_m = inputs.groundwater_above_crown_m
    diameter_m = inputs.diameter_mm / 1000.0
    if above_crown_m is None:
        if above_invert_m is None:
            raise ValueError("groundwater: found none, expected one above invert or crown.")
        return above_invert_m
    from_crown_m = max(above_crown_m + diameter_m, 0.0)
    if above_invert_m is None:
        return from_crown_m
    if abs(above_invert_m - from_crown_m) > DATUM_TOLERANCE_M:
        raise ValueError(
            f"groundwater: found {above_invert_m:g} m above invert and {above_crown_m:g} m above "
            f"crown, expected them to differ by the diameter, {diameter_m:g} m."
        )
    return max(above_invert_m, from_crown_m)


def _limits(inputs: InflationInputs) -> list[tuple[float, str]]:
    stated = [
        (inputs.packer_limit_kpa, "packer"),
        (inputs.host_limit_kpa, "host pipe"),
        (inputs.kit_limit_kpa, "kit"),
    ]
    return [(limit_kpa, name) for limit_kpa, name in stated if limit_kpa is not None]


def _reason(low_kpa: float, high_kpa: float, limit_name: str, *, feasible: bool) -> str:
    if feasible:
        return f"Keep the gauge between {_p(low_kpa)} and {_p(high_kpa)}."
    return (
        f"No pressure will do: groundwater, margin and gauge error need {_p(low_kpa)}, but the "
        f"{limit_name} bears {_p(high_kpa)}. Lower the groundwater or choose another way of repair."
    )


def _p(pressure_kpa: float) -> str:
    return words(pressure_kpa, Dimension.PRESSURE)
