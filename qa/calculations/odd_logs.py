"""What is odd about a pressure log: questions to the crew."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from qa.calculations.calculation import Calculation
from qa.calculations.field import Wrong
from qa.calculations.kinds import Instant, Quantity
from qa.calculations.pressures import LOG, parsed, pressure, psi
from qa.domain.implausible_log import LogContext, LogFlag, Oddity, oddities
from repairs.domain.problem import Fault
from repairs.domain.units import Dimension


@dataclass(frozen=True, slots=True)
class Oddities:
    """What somebody might be asked about."""

    oddities: tuple[Oddity, ...]
    working: tuple[str, ...]


def _look(given: Mapping[str, Any]) -> Oddities:
    log = parsed(given["log"])
    low_kpa, high_kpa = given["expected_low"], given["expected_high"]
    if (low_kpa is None) != (high_kpa is None):
        raise Wrong(Fault("expected_low, expected_high", "one of them", "both or neither"))
    gap_min, late = given["gauge_interval"], given["hold_until"]
    found = oddities(
        log.times_s,
        log.pressures_kpa,
        LogContext(
            unit=log.pressure_unit,
            gauge_resolution_kpa=given["gauge_resolution"],
            gauge_interval_s=None if gap_min is None else gap_min * 60.0,
            expected_kpa=None if low_kpa is None else (low_kpa, high_kpa),
            cure_late_s=None if late is None else late.timestamp(),
        ),
    )
    looked = (
        f"{log.times_s.size} samples in {log.pressure_unit}, in the order of the file.",
        f"Looked for: {', '.join(flag.replace('_', ' ') for flag in LogFlag)}.",
        "What is left out of the question is not looked for. Nothing was corrected or converted.",
    )
    return Oddities(found, looked)


IMPLAUSIBLE_LOG = Calculation(
    name="implausible-log",
    answers="Is there anything about a pressure log that somebody should be asked?",
    takes=(
        LOG,
        pressure(
            "gauge_resolution", "Smallest step of the gauge.", low=1e-6, high=100, required=False
        ),
        Quantity(
            name="gauge_interval",
            meaning="Shortest time between two samples that the gauge can write.",
            dimension=Dimension.DURATION,
            low=1e-4,
            high=1_440,
            required=False,
        ),
        pressure("expected_low", "Lowest pressure the repair was meant to have.", required=False),
        pressure("expected_high", "Highest pressure the repair was meant to have.", required=False),
        Instant(name="hold_until", meaning="When the cure clock's hold ends.", required=False),
    ),
    run=_look,
    example={
        "log": "time,pressure_psi\n"
        + "".join(f"2026-11-25T09:0{n}:00+00:00,{32.75 + n / 100:.2f}\n" for n in range(5)),
        "gauge_interval": {"value": 10, "unit": "s"},
        "expected_low": psi(4),
        "expected_high": psi(6),
        "hold_until": "2026-11-25T13:00:00+00:00",
    },
    source="This project; false finds were counted on simulated logs.",
    caution=(
        "Questions, never proof: a good, quiet gauge trips some, and a careful forger trips none."
    ),
    page="docs/calculations/implausible_log.md",
)
