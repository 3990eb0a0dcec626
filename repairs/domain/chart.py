"""The maker's chart: how many minutes a resin takes at which temperature.

A chart is authority. Between its rows a time may be estimated (Arrhenius), but what
releases a repair is the row at or below the temperature. Above the hottest row no
credit is given, and below the coldest there is no answer.
"""

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from repairs.domain.problem import Fault, refuse, shown
from repairs.domain.units import GAS_CONSTANT_J_MOL_K, ZERO_C_IN_K

LOWEST_ACTIVATION_KJ_MOL = 20.0
"""Below this two rows hardly differ: a typing error? Source: from memory."""
HIGHEST_ACTIVATION_KJ_MOL = 150.0
"""Above this the chart falls faster than any ambient-cure resin. Source: from memory."""
LOWEST_CHART_C = -30.0
HIGHEST_CHART_C = 60.0
"""A row outside is a typing error or degF for degC. Source: common practice, none published."""
LONGEST_CHART_MIN = 43_200.0
"""Thirty days: a longer row is a typing error. Source: common practice, none published."""


class ClockStart(StrEnum):
    """The instant from which a chart's minutes are counted; charts differ, so no default."""

    MIXING = "mixing"
    WET_OUT = "wet_out"
    INFLATION = "inflation"


class ChartRule(StrEnum):
    """How to read a chart between two rows."""

    ARRHENIUS = "arrhenius"
    COLDER_ROW = "colder_row"


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One printed row: `minutes` at `temperature_c`."""

    temperature_c: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A maker's chart as printed, with what its minutes are counted from.

    Parameters
    ----------
    rows
        Temperatures strictly rising, minutes > 0 and never rising.
    clock_start
        What starts the maker's clock.
    rounding_min
        Step to which the maker rounded the minutes (5 for a chart in fives), >= 0.
    version, source
        Which chart it is, and where it was printed.

    Raises
    ------
    ValueError
        When a row is impossible; the message names the row.
    """

    rows: tuple[ChartRow, ...]
    clock_start: ClockStart
    rounding_min: float
    version: str
    source: str

    def __post_init__(self) -> None:
        """Refuse a chart that cannot be one."""
        refuse(chart_faults(self.rows, self.clock_start, self.rounding_min))

    @property
    def coldest_c(self) -> float:
        """Temperature of the coldest row, below which the chart is silent."""
        return self.rows[0].temperature_c

    @property
    def hottest_c(self) -> float:
        """Temperature of the hottest row, above which no further credit is given."""
        return self.rows[-1].temperature_c


def chart_faults(
    rows: Sequence[ChartRow], clock_start: str, rounding_min: float
) -> tuple[Fault, ...]:
    """Name everything that makes a chart impossible; rows are counted from 0."""
    faults = [fault for number, row in enumerate(rows) for fault in _row_faults(number, row)]
    for number, (colder, warmer) in enumerate(pairwise(rows), start=1):
        faults += _pair_faults(number, colder, warmer)
    if not rows:
        faults.append(Fault("rows", "none", "at least one"))
    if clock_start not in tuple(ClockStart):
        faults.append(Fault("clock_start", shown(clock_start), ", ".join(ClockStart)))
    if not (math.isfinite(rounding_min) and rounding_min >= 0.0):
        faults.append(Fault("rounding_min", shown(rounding_min), "0 or more"))
    elif not faults and rounding_min >= 2.0 * rows[-1].minutes:
        told = f"less than twice the shortest row, {rows[-1].minutes:g} min"
        faults.append(Fault("rounding_min", shown(rounding_min), told))
    return tuple(faults)


def _row_faults(number: int, row: ChartRow) -> Iterator[Fault]:
    if not LOWEST_CHART_C <= row.temperature_c <= HIGHEST_CHART_C:
        yield Fault(
            f"rows[{number}].temperature",
            f"{row.temperature_c:g} °C",
            f"{LOWEST_CHART_C:g} to {HIGHEST_CHART_C:g} °C; is it °F?",
        )
    if not 0.0 < row.minutes <= LONGEST_CHART_MIN:
        told = f"more than 0 and at most {LONGEST_CHART_MIN:g}"
        yield Fault(f"rows[{number}].minutes", f"{row.minutes:g}", told)


def _pair_faults(number: int, colder: ChartRow, warmer: ChartRow) -> Iterator[Fault]:
    if warmer.temperature_c <= colder.temperature_c:
        yield Fault(
            f"rows[{number}].temperature",
            f"{warmer.temperature_c:g} °C after {colder.temperature_c:g} °C",
            "rising temperatures",
        )
    if warmer.minutes > colder.minutes:
        yield Fault(
            f"rows[{number}].minutes",
            f"{warmer.minutes:g} min at {warmer.temperature_c:g} °C",
            f"at most the {colder.minutes:g} min of the colder row",
        )


def check_chart(chart: Chart) -> tuple[str, ...]:
    """Name what looks like a typing error in a chart that is otherwise possible.

    Parameters
    ----------
    chart
        The chart as typed.

    Returns
    -------
    tuple of str
        One sentence a doubtful pair of rows: the activation energy they imply,
        ``E = R ln(t1/t2) / (1/T1 - 1/T2)``, lies outside 20 to 150 kJ/mol.

    Source
    ------
    Arrhenius' law; the bounds are from memory.
    """
    warnings = []
    for colder, warmer in pairwise(chart.rows):
        energy_kj_mol = activation_energy_kj_mol(colder, warmer)
        if not LOWEST_ACTIVATION_KJ_MOL <= energy_kj_mol <= HIGHEST_ACTIVATION_KJ_MOL:
            warnings.append(
                f"From {colder.temperature_c:g} to {warmer.temperature_c:g} °C the chart falls "
                f"from {colder.minutes:g} to {warmer.minutes:g} min, which implies "
                f"{energy_kj_mol:.0f} kJ/mol; {LOWEST_ACTIVATION_KJ_MOL:g} to "
                f"{HIGHEST_ACTIVATION_KJ_MOL:g} is usual. Is a row mistyped?"
            )
    return tuple(warnings)


def activation_energy_kj_mol(colder: ChartRow, warmer: ChartRow) -> float:
    """Return the activation energy two rows imply (Arrhenius)."""
    log_ratio = math.log(colder.minutes / warmer.minutes)
    inverse_k = 1.0 / (colder.temperature_c + ZERO_C_IN_K) - 1.0 / (
        warmer.temperature_c + ZERO_C_IN_K
    )
    return GAS_CONSTANT_J_MOL_K * log_ratio / inverse_k / 1000.0


def minutes_at(chart: Chart, temperature_c: float, rule: ChartRule) -> float | None:
    """Read the chart at one temperature.

    Parameters
    ----------
    chart
        The maker's chart.
    temperature_c
        A constant temperature; finite.
    rule
        ``arrhenius``: ln(minutes) linear in 1/T between rows, an estimate;
        ``colder_row``: the row at or below, never shorter than the chart.

    Returns
    -------
    float or None
        Minutes; those of the hottest row above it; None below the coldest row,
        because a chart must not be carried on into the cold.

    Raises
    ------
    ValueError
        When the temperature is not a finite number.

    Limits
    ------
    Exact only where the resin follows one activation energy between two rows. Any
    falling chart gives arrhenius <= straight line <= colder row.

    Source
    ------
    Arrhenius' law; the order of the rules was proved and measured for this project.
    """
    if not math.isfinite(temperature_c):
        raise ValueError(f"temperature_c: found {temperature_c!r}, expected a finite number.")
    if temperature_c < chart.coldest_c:
        return None
    index = bisect_right(chart.rows, temperature_c, key=lambda row: row.temperature_c) - 1
    row = chart.rows[index]
    if rule == ChartRule.COLDER_ROW or temperature_c >= chart.hottest_c:
        return row.minutes
    warmer = chart.rows[index + 1]
    here, cold, warm = (
        1.0 / (at_c + ZERO_C_IN_K)
        for at_c in (temperature_c, row.temperature_c, warmer.temperature_c)
    )
    share = (cold - here) / (cold - warm)
    return math.exp((1.0 - share) * math.log(row.minutes) + share * math.log(warmer.minutes))


def rate_per_min(
    chart: Chart, temperature_c: NDArray[np.float64], rule: ChartRule
) -> NDArray[np.float64]:
    """Return how fast the resin ages: 1/minutes at each temperature, 0 below the chart.

    Parameters
    ----------
    chart
        The maker's chart.
    temperature_c
        Any shape. NaN means that no temperature is known, and ages nothing.
    rule
        How to read between rows.

    Returns
    -------
    NDArray
        Share of the whole time used up per minute, same shape.

    Limits
    ------
    0 below the chart is safe for cure only. For working time lift the temperature to
    the coldest row first, and refuse everything above the hottest.
    """
    rows_c = np.array([row.temperature_c for row in chart.rows])
    minutes = np.array([row.minutes for row in chart.rows])
    known = temperature_c >= chart.coldest_c
    warm_enough = np.where(known, temperature_c, chart.coldest_c)
    if rule == ChartRule.COLDER_ROW:
        rate = 1.0 / minutes[np.searchsorted(rows_c, warm_enough, side="right") - 1]
    else:
        log_minutes = np.interp(
            -1.0 / (warm_enough + ZERO_C_IN_K), -1.0 / (rows_c + ZERO_C_IN_K), np.log(minutes)
        )
        rate = np.exp(-log_minutes)
    return np.asarray(np.where(known, rate, 0.0), dtype=np.float64)


def slowed(chart: Chart, minutes: float) -> Chart:
    """Return the chart with `minutes` added to each row (taken off when negative).

    A printed chart is rounded. Half its rounding step added makes it safe for cure;
    half the step taken off makes it safe for working time.

    Raises
    ------
    ValueError
        When a row would fall to 0 minutes or less.
    """
    rows = tuple(ChartRow(row.temperature_c, row.minutes + minutes) for row in chart.rows)
    return Chart(rows, chart.clock_start, 0.0, chart.version, chart.source)
