"""How long a reach of pipe or a manhole must hold air, after EN 1610 (methods LA to LD)."""

import math
from dataclasses import dataclass
from enum import StrEnum

from repairs.domain.air_test_working import CAUTION, REACH_ONLY

_LARGEST_KP = 0.058
_WET_MM_MIN, _DRY_MM_MIN = 12.0, 16.0
_FINE_STEP_MIN, _STEP_MIN, _FINE_UP_TO_MIN = 0.5, 1.0, 5.0
_SETTLE_MIN, _SETTLE_UP_TO_MM = 5.0, 500.0
_SETTLE_MM_A_MIN = 100.0


class En1610Method(StrEnum):
    """Test pressure and allowed drop; the contract chooses."""

    LA = "LA"
    LB = "LB"
    LC = "LC"
    LD = "LD"

    @property
    def start_mbar(self) -> float:
        """Gauge pressure at the start, p0. Source: EN 1610 table 3 (read in reprints)."""
        return {"LA": 10.0, "LB": 50.0, "LC": 100.0, "LD": 200.0}[self.value]

    @property
    def drop_mbar(self) -> float:
        """Allowed drop. Source: as for the start."""
        return {"LA": 2.5, "LB": 10.0, "LC": 15.0, "LD": 15.0}[self.value]


class PipeWall(StrEnum):
    """What lets air through by itself; no default."""

    DRY_CONCRETE = "dry_concrete"
    WET_CONCRETE_OR_OTHER = "wet_concrete_or_other"


class MinuteRounding(StrEnum):
    """How the time becomes whole minutes; texts differ, so no default.

    NEAREST is EN 1610's own: to 0.5 min up to 5 min, to 1 min above. UP is the rule of
    DWA-A 139: the next whole minute.
    """

    NEAREST = "nearest"
    UP = "up"


@dataclass(frozen=True, slots=True)
class En1610Inputs:
    """A reach or a manhole, and how it is tested.

    Parameters
    ----------
    nominal_mm
        Nominal diameter DN, > 0.
    method
        LA, LB, LC or LD.
    wall
        What the wall is of.
    rounding
        How the time is rounded.
    is_manhole
        A manhole takes half the time of a pipe of its diameter (edition of 2015).
    """

    nominal_mm: float
    method: En1610Method
    wall: PipeWall
    rounding: MinuteRounding
    is_manhole: bool

    def __post_init__(self) -> None:
        """Refuse a diameter that cannot be."""
        if not (math.isfinite(self.nominal_mm) and self.nominal_mm > 0.0):
            raise ValueError(f"nominal_mm: found {self.nominal_mm!r}, expected more than 0.")


@dataclass(frozen=True, slots=True)
class En1610AirTest:
    """Times in minutes, pressures in mbar, and the working."""

    time_min: float
    unrounded_min: float
    settle_min: float
    start_mbar: float
    drop_mbar: float
    working: tuple[str, ...]


def en1610_air_test(inputs: En1610Inputs) -> En1610AirTest:
    """Reckon an air test after EN 1610, ``t = ln(p0 / (p0 - dp)) / Kp``.

    Parameters
    ----------
    inputs
        Diameter, method, wall and rounding.

    Returns
    -------
    En1610AirTest
        Test time, rounded as asked and before rounding, and the time to settle.

    Raises
    ------
    ValueError
        By `En1610Inputs`, when the diameter cannot be.

    Source
    ------
    EN 1610 table 3 with its formula, read in two reprints; rounding up, settling and
    manholes read in a German guideline and a trade guide.

    Limits
    ------
    Tests a reach of pipe; it says nothing of one sleeve, and nothing of a packer's seal.
    Groundwater above the crown needs a higher pressure, which the owner sets.
    """
    factor = pressure_factor(inputs.nominal_mm, inputs.wall)
    method = inputs.method
    exact_min = math.log(method.start_mbar / (method.start_mbar - method.drop_mbar)) / factor
    pipe_min = rounded_min(exact_min, inputs.rounding)
    share = 0.5 if inputs.is_manhole else 1.0
    settle_min = (
        _SETTLE_MIN
        if inputs.nominal_mm <= _SETTLE_UP_TO_MM
        else inputs.nominal_mm / _SETTLE_MM_A_MIN
    )
    return En1610AirTest(
        time_min=pipe_min * share,
        unrounded_min=exact_min * share,
        settle_min=settle_min,
        start_mbar=method.start_mbar,
        drop_mbar=method.drop_mbar,
        working=_working(inputs, factor, exact_min, (pipe_min, pipe_min * share, settle_min)),
    )


def pressure_factor(nominal_mm: float, wall: PipeWall) -> float:
    """Return Kp, 16/DN for dry concrete and 12/DN for all other, at most 0.058 a minute."""
    per_mm = _DRY_MM_MIN if wall is PipeWall.DRY_CONCRETE else _WET_MM_MIN
    return min(per_mm / nominal_mm, _LARGEST_KP)


def rounded_min(exact_min: float, rounding: MinuteRounding) -> float:
    """Round a time as asked; a half goes up, so that no test is short.

    Source
    ------
    As for `en1610_air_test`. LD at DN 1000, wet: 6.497 min; the printed table has 7,
    which only rounding up gives.
    """
    if rounding is MinuteRounding.UP:
        # A billionth of a minute: arithmetic alone must not add one.
        return float(math.ceil(exact_min - 1e-9))
    step_min = _FINE_STEP_MIN if exact_min <= _FINE_UP_TO_MIN else _STEP_MIN
    return math.floor(exact_min / step_min + 0.5) * step_min


def _working(
    inputs: En1610Inputs, factor: float, exact_min: float, found: tuple[float, float, float]
) -> tuple[str, ...]:
    pipe_min, time_min, settle_min = found
    method = inputs.method
    rule = (
        "to the nearest 0.5 min up to 5 min, 1 min above"
        if inputs.rounding is MinuteRounding.NEAREST
        else "up to the next whole minute (DWA-A 139)"
    )
    half = f" A manhole takes half of it, {time_min:g} min." if inputs.is_manhole else ""
    return (
        (
            f"Kp = {factor:.4f} a minute for DN {inputs.nominal_mm:g}, "
            f"{inputs.wall.replace('_', ' ')} "
            "(EN 1610: 16/DN dry concrete, 12/DN other, at most 0.058)."
        ),
        (
            f"t = ln(p0/(p0 - dp))/Kp with {method}, p0 {method.start_mbar:g} mbar, dp "
            f"{method.drop_mbar:g} mbar: {exact_min:.3f} min."
        ),
        f"Rounded {rule}: {pipe_min:g} min.{half}",
        f"Let it settle for {settle_min:g} min before.",
        "Measure the drop to 10 % of dp and the time to 5 s.",
        REACH_ONLY,
        CAUTION,
    )
