"""Whether a packer holds, and how long a gauge needs to prove it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.kinds import Instant, Quantity
from qa.calculations.pressures import pressure, psi
from qa.calculations.record import ListOf, Record
from qa.domain.hold_test import HoldReading, HoldTestInputs, judge_hold_test, provable
from repairs.domain.units import Dimension, words


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


_STEP = pressure("gauge_resolution", "Smallest step of the gauge.", low=1e-6, high=100)
_DROP = pressure("allowed_drop_a_minute", "The contract's allowed drop.", low=1e-6, high=100)
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
            {"at": f"2026-11-25T08:{minute:02d}:00+00:00", "pressure": psi(value)}
            for minute, value in ((0, 5.0), (2, 5.0), (5, 5.0))
        ],
        "required_duration": {"value": 5, "unit": "min"},
        "allowed_drop_a_minute": psi(0.02),
        "gauge_resolution": psi(0.1),
        "test_pressure_low": psi(4.5),
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
    example={"gauge_resolution": psi(0.1), "allowed_drop_a_minute": psi(0.02)},
    source="Arithmetic: step of the gauge by the allowed drop.",
    caution="A test that long can prove it; only a display that never moved does.",
    page="docs/calculations/hold_test.md",
)
