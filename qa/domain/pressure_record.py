"""Puts the pressure logs of one attempt together into one record."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

import numpy as np

from qa.domain.implausible_log import LogContext, Weight, oddities
from qa.domain.pressure_csv import ParsedLog
from qa.domain.repair_facts import PressureRecord
from repairs.domain.temperature_log import Reading


def put_together(
    logs: Sequence[tuple[str, ParsedLog]], window_kpa: tuple[float, float] | None = None
) -> PressureRecord | None:
    """Return all samples of the logs, given with their evidence ids; None without any.

    `window_kpa` is what the repair was meant to have, to see a unit that was mistaken.
    """
    if not logs:
        return None
    return PressureRecord(
        evidence=tuple(evidence for evidence, _ in logs),
        times_s=np.concatenate([log.times_s for _, log in logs]),
        pressures_kpa=np.concatenate([log.pressures_kpa for _, log in logs]),
        to_ask=tuple(words for _, log in logs for words in _to_ask(log, window_kpa)),
    )


def _to_ask(log: ParsedLog, window_kpa: tuple[float, float] | None) -> Iterator[str]:
    context = LogContext(unit=log.pressure_unit, expected_kpa=window_kpa)
    for found in oddities(log.times_s, log.pressures_kpa, context):
        if found.weight is Weight.QUESTION:
            yield found.words


def wall_readings(logs: Sequence[ParsedLog]) -> tuple[Reading, ...]:
    """Return the pipe-wall temperatures that were logged beside the pressure."""
    found: list[Reading] = []
    for log in logs:
        if log.temperatures_c is None:
            continue
        for at, temperature in zip(log.times_s, log.temperatures_c, strict=True):
            if np.isfinite(temperature):
                found.append(Reading(datetime.fromtimestamp(float(at), UTC), float(temperature)))
    return tuple(found)
