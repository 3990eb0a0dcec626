"""The window of the pressure, and whether a log stayed in it."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from qa.calculations.calculation import Calculation
from qa.calculations.field import Wrong
from qa.calculations.kinds import Instant, Number, Quantity, Text
from qa.domain.pressure_log import ParsedLog, PressureLogError, judge_window, parse_pressure_csv
from repairs.domain.inflation import InflationInputs, inflation_window
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension

_LONGEST_CSV = 2_000_000


def pressure(
    name: str, meaning: str, *, low: float = 0.0, high: float = 1_000.0, required: bool = True
) -> Quantity:
    """Return a field for a gauge pressure."""
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.PRESSURE,
        low=low,
        high=high,
        required=required,
    )


def _water(name: str, meaning: str, low: float) -> Quantity:
    return Quantity(
        name=name,
        meaning=meaning,
        dimension=Dimension.LENGTH,
        low=low,
        high=50,
        required=False,
    )


def _window(given: Mapping[str, Any]) -> Any:
    return inflation_window(
        InflationInputs(
            groundwater_above_invert_m=given["groundwater_above_invert"],
            groundwater_above_crown_m=given["groundwater_above_crown"],
            diameter_mm=given["diameter"],
            contact_margin_kpa=given["contact_margin"],
            packer_limit_kpa=given["packer_limit"],
            host_limit_kpa=given["host_limit"],
            kit_limit_kpa=given["kit_limit"],
            gauge_error_kpa=given["gauge_error"],
        )
    )


def parsed(log: str) -> ParsedLog:
    """Read a log; a line that cannot be read is named."""
    try:
        return parse_pressure_csv(log)
    except PressureLogError as error:
        raise Wrong(Fault(f"log, line {error.line}", repr(error.found), error.expected)) from error


def _log(given: Mapping[str, Any]) -> Any:
    log = parsed(given["log"])
    start_s = float(np.min(log.times_s)) if given["start"] is None else given["start"].timestamp()
    end_s = float(np.max(log.times_s)) if given["end"] is None else given["end"].timestamp()
    return judge_window(
        log.times_s - start_s,
        log.pressures_kpa,
        start_s=0.0,
        end_s=end_s - start_s,
        low_kpa=given["low"],
        high_kpa=given["high"],
        gauge_accuracy_kpa=given["gauge_accuracy"],
        longest_gap_s=given["longest_gap"] * 60.0,
        required_coverage=given["required_coverage"],
    )


LOG = Text(
    name="log",
    meaning="CSV: time, one of pressure_psi, _kpa, _bar, _mbar. In a terminal log=@FILE.",
    longest=_LONGEST_CSV,
)

_GAUGE = "How far the gauge may be off."


def psi(value: float) -> dict[str, Any]:
    """Return a pressure as it is sent, for an example."""
    return {"value": value, "unit": "psi"}


INFLATION_WINDOW = Calculation(
    name="inflation-window",
    answers="Between which pressures must the gauge stay, and is there such a window at all?",
    takes=(
        _water("groundwater_above_invert", "Water level over the invert; or over the crown.", 0),
        _water("groundwater_above_crown", "Water level over the crown; below 0 when dry.", -10),
        Quantity(
            name="diameter",
            meaning="Inside diameter of the host pipe.",
            dimension=Dimension.DIAMETER,
            low=50,
            high=3000,
        ),
        pressure("contact_margin", "Pressure wanted on the wall beyond the water's; the maker's."),
        pressure("packer_limit", "Highest pressure of the packer.", low=0.1),
        pressure("host_limit", "Highest pressure of the host pipe.", low=0.1, required=False),
        pressure("kit_limit", "Highest pressure of the kit.", low=0.1, required=False),
        pressure("gauge_error", f"{_GAUGE} Taken off both ends."),
    ),
    run=_window,
    example={
        "groundwater_above_invert": {"value": 4, "unit": "ft"},
        "diameter": {"value": 8, "unit": "in"},
        "contact_margin": psi(1),
        "packer_limit": psi(10),
        "host_limit": psi(6),
        "gauge_error": psi(0.1),
    },
    source="Hydrostatics: 9.80665 kPa per metre, 0.4335 psi per foot.",
    caution=(
        "The arithmetic is checked here, the limits are not: those of packer and kit are their "
        "makers', that of a cracked pipe is an engineer's judgement."
    ),
    page="docs/calculations/inflation.md",
)
PRESSURE_WINDOW = Calculation(
    name="pressure-window",
    answers="Did a pressure log stay in its window for the whole of a time?",
    takes=(
        LOG,
        Instant(name="start", meaning="Start of the time; otherwise first sample.", required=False),
        Instant(name="end", meaning="End of the time; otherwise last sample.", required=False),
        pressure("low", "Lowest pressure allowed."),
        pressure("high", "Highest pressure allowed."),
        pressure("gauge_accuracy", _GAUGE, high=100),
        Quantity(
            name="longest_gap",
            meaning="Longest silence that still counts as covered: the contract's.",
            dimension=Dimension.DURATION,
            low=0.01,
            high=1_440,
        ),
        Number(
            name="required_coverage",
            meaning="Share of the time that must be covered: the contract's.",
            low=0,
            high=1,
        ),
    ),
    run=_log,
    example={
        "log": "time,pressure_psi\n"
        "2026-11-25T09:00:00+00:00,4.8\n2026-11-25T09:00:30+00:00,4.9\n"
        "2026-11-25T09:01:00+00:00,3.9\n2026-11-25T09:01:30+00:00,4.8\n",
        "low": psi(4.5),
        "high": psi(5.5),
        "gauge_accuracy": psi(0.1),
        "longest_gap": {"value": 60, "unit": "s"},
        "required_coverage": 0.95,
    },
    source="Arithmetic; longest gap and coverage are the contract's.",
    caution="Says nothing of what the pressure did between two samples.",
    page="docs/calculations/pressure_log.md",
)
