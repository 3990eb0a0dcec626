"""Reads a series in whatever form it comes, and says what is in it."""

import numpy as np
from numpy.typing import NDArray

from qa.domain.pressure_csv import ParsedLog, parse_pressure_csv
from qa.domain.senml_log import parse_senml

GAP_TIMES = 3.0
"""A pause this many times the usual one is a gap. Common practice, no source."""

_COLUMNS = 3


def parse_series(text: str) -> ParsedLog:
    """Read a pressure log: SenML where it begins as JSON does, else CSV."""
    body = text.removeprefix("\ufeff")
    return parse_senml(body) if body.lstrip()[:1] in ("[", "{") else parse_pressure_csv(body)


def series_facts(log: ParsedLog) -> dict[str, object]:
    """Return what a log is: form, columns with units, rows, span and pauses.

    ``interval_s`` is the usual time between rows, ``gaps`` how many pauses are longer than
    `GAP_TIMES` of it, ``longest_gap_s`` the longest pause of all; in order of time.
    """
    pauses = np.sort(np.diff(np.sort(log.times_s)))
    usual_s = float(pauses[pauses.size // 2]) if pauses.size else 0.0
    return {
        "format": log.form,
        "columns": [{"name": each.name, "unit": each.unit} for each in log.columns],
        "samples": int(log.times_s.size),
        "pressure_unit": log.pressure_unit,
        "has_temperature": log.temperatures_c is not None,
        "first_s": float(log.times_s.min()),
        "last_s": float(log.times_s.max()),
        "interval_s": round(usual_s, 3),
        "gaps": int(np.count_nonzero(pauses > GAP_TIMES * usual_s)) if usual_s else 0,
        "longest_gap_s": round(float(pauses[-1]), 3) if pauses.size else 0.0,
    }


def packed(log: ParsedLog) -> bytes:
    """Return the numbers of a log as bytes that no parser is needed for.

    Three columns of little-endian 8-byte floats, one after the other: seconds since 1970, kPa,
    degC (NaN where there is none).
    """
    temperatures = (
        np.full(log.times_s.size, np.nan) if log.temperatures_c is None else log.temperatures_c
    )
    return np.concatenate([log.times_s, log.pressures_kpa, temperatures]).astype("<f8").tobytes()


def unpacked(content: bytes, pressure_unit: str) -> ParsedLog:
    """Return the log that `packed` made bytes of.

    Raises
    ------
    ValueError
        When these are not three columns of equal length with a time and pressure in each row.
    """
    whole: NDArray[np.float64] = np.frombuffer(content, "<f8").astype(np.float64)
    if not whole.size or whole.size % _COLUMNS:
        raise ValueError("not three columns of numbers")
    times_s, pressures_kpa, temperatures_c = whole.reshape(_COLUMNS, -1)
    if not (np.isfinite(times_s).all() and np.isfinite(pressures_kpa).all()):
        raise ValueError("a time or a pressure is not finite")
    empty = bool(np.isnan(temperatures_c).all())
    return ParsedLog(times_s, pressures_kpa, None if empty else temperatures_c, pressure_unit)
