"""The window of the pressure, whether a log stayed in it, and whether a packer holds."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from qa.calculations.calculation import Calculation
from qa.calculations.field import Instant, Number, Quantity, Text, Wrong
from qa.calculations.record import ListOf, Record
from qa.domain.hold_test import HoldReading, HoldTestInputs, judge_hold_test, provable
from qa.domain.pressure_log import ParsedLog, PressureLogError, judge_window, parse_pressure_csv
from repairs.domain.inflation import InflationInputs, inflation_window
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension, words

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


def _hold(given: Mapping[str, Any]) -> Any:
    return judge_hold_test(
        HoldTestInputs(
            times=tuple(reading["at"] for reading in given["readings"]),
            readings=tuple(
                HoldReading(reading["pressure"], reading["temperature"])
                for reading in given["readings"]
            ),
            required_duration_s=given["required_duration"] * 60.0,
            allowed_drop_kpa_per_min=given["allowed_drop_a_minute"],
            gauge_resolution_kpa=given["gauge_resolution"],
            test_pressure_low_kpa=given["test_pressure_low"],
            temperature_uncertainty_k=given["temperature_uncertainty"],
        )
    )


@dataclass(frozen=True, slots=True)
class ShortestTest:
    """How long a gauge needs."""

    shortest_min: float
    working: tuple[str, ...]


def _provable(given: Mapping[str, Any]) -> ShortestTest:
    step_kpa, allowed_kpa = given["gauge_resolution"], given["allowed_drop_a_minute"]
    shortest_min = provable(step_kpa, allowed_kpa)
    return ShortestTest(
        shortest_min,
        (
            (
                f"Shortest test = gauge step / allowed drop = "
                f"{words(step_kpa, Dimension.PRESSURE, 3)} / "
                f"{words(allowed_kpa, Dimension.PRESSURE, 3)} a minute = {shortest_min:.1f} min."
            ),
            "In a shorter test a leak just over the limit need not move a digit.",
        ),
    )


LOG = Text(
    name="log",
    meaning="CSV: time, one of pressure_psi, _kpa, _bar, _mbar. In a terminal log=@FILE.",
    longest=_LONGEST_CSV,
)
_STEP = pressure("gauge_resolution", "Smallest step of the gauge.", low=1e-6, high=100)
_DROP = pressure("allowed_drop_a_minute", "The contract's allowed drop.", low=1e-6, high=100)
_GAUGE = "How far the gauge may be off."
_PSI = "psi"


def _psi(value: float) -> dict[str, Any]:
    return {"value": value, "unit": _PSI}


_READING = Record(
    name="reading",
    meaning="One reading of the gauge.",
    fields=(
        Instant(name="at", meaning="When it was read."),
        pressure("pressure", "What the gauge showed.", low=-101.0),
        Quantity(
            name="temperature",
            meaning="Temperature of the air in the packer, where it was read.",
            dimension=Dimension.TEMPERATURE,
            low=-60,
            high=200,
            required=False,
        ),
    ),
    between="@",
)

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
        "contact_margin": _psi(1),
        "packer_limit": _psi(10),
        "host_limit": _psi(6),
        "gauge_error": _psi(0.1),
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
        "low": _psi(4.5),
        "high": _psi(5.5),
        "gauge_accuracy": _psi(0.1),
        "longest_gap": {"value": 60, "unit": "s"},
        "required_coverage": 0.95,
    },
    source="Arithmetic; longest gap and coverage are the contract's.",
    caution="Says nothing of what the pressure did between two samples.",
    page="docs/calculations/pressure_log.md",
)
HOLD_TEST = Calculation(
    name="hold-test",
    answers="Does the packer leak more than the contract allows?",
    takes=(
        ListOf(
            name="readings",
            meaning="Readings of the gauge, one at the start and one at the end at least.",
            item=_READING,
            most=20_000,
        ),
        Quantity(
            name="required_duration",
            meaning="How long the test must last.",
            dimension=Dimension.DURATION,
            low=0.1,
            high=1_440,
        ),
        _DROP,
        _STEP,
        pressure("test_pressure_low", "Lowest pressure at which the test counts."),
        Quantity(
            name="temperature_uncertainty",
            meaning="How far the change of the air's temperature may be off; otherwise 0.",
            dimension=Dimension.TEMPERATURE_DIFFERENCE,
            low=0,
            high=50,
            required=False,
            default=0.0,
        ),
    ),
    run=_hold,
    example={
        "readings": [
            {"at": f"2026-11-25T08:{minute:02d}:00+00:00", "pressure": _psi(value)}
            for minute, value in ((0, 5.0), (2, 5.0), (5, 5.0))
        ],
        "required_duration": {"value": 5, "unit": "min"},
        "allowed_drop_a_minute": _psi(0.02),
        "gauge_resolution": _psi(0.1),
        "test_pressure_low": _psi(4.5),
    },
    source="Gas law for the temperature; Theil-Sen slope, widened by the gauge's step.",
    caution=(
        "An elastic packer changes its volume, so the temperature correction is an upper limit; a "
        "packer still fed by its regulator proves nothing."
    ),
    page="docs/calculations/hold_test.md",
)
HOLD_TEST_PROVABLE = Calculation(
    name="hold-test-provable",
    answers="How long must a hold test last before this gauge can prove anything?",
    takes=(_STEP, _DROP),
    run=_provable,
    example={"gauge_resolution": _psi(0.1), "allowed_drop_a_minute": _psi(0.02)},
    source="Arithmetic: step of the gauge by the allowed drop.",
    caution="A test that long can prove it; only a display that never moved does.",
    page="docs/calculations/hold_test.md",
)
