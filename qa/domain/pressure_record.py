"""Puts the pressure logs of one attempt together into one record."""

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from qa.domain.pressure_csv import ParsedLog
from qa.domain.repair_facts import PressureRecord
from repairs.domain.temperature_log import Reading


def put_together(logs: Sequence[tuple[str, ParsedLog]]) -> PressureRecord | None:
    """Return all samples of the logs, given with their evidence ids; None without any."""
    if not logs:
        return None
    return PressureRecord(
        evidence=tuple(evidence for evidence, _ in logs),
        times_s=np.concatenate([log.times_s for _, log in logs]),
        pressures_kpa=np.concatenate([log.pressures_kpa for _, log in logs]),
    )


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
