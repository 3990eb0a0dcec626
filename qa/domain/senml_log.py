"""Reads a pressure log written as SenML, JSON of RFC 8428, sections 4 and 5.

The one measured thing whose name ends in ``pressure`` is the gauge pressure, the one whose name
ends in ``temperature`` the pipe wall's temperature, taken at the same instants. Units are those
of the standard: Pa or hPa, Cel or K; a unit is never guessed.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Any

import numpy as np

from qa.domain.pressure_csv import Column, ParsedLog, PressureLogError
from repairs.domain.units import ZERO_C_IN_K

LATEST_RELATIVE_S = 2**28
"""Times below are relative to when the pack is read (RFC 8428, 4.5.3): no time at all here."""

LAST_VERSION = 10
"""RFC 8428, 4.4: what has a higher ``bver`` must not be read."""

_PRESSURES_KPA = MappingProxyType({"Pa": 0.001, "hPa": 0.1})
"""RFC 8428, 12.1, and the secondary units of RFC 8798."""
_TEMPERATURES = frozenset({"Cel", "K"})


@dataclass(frozen=True, slots=True)
class Sample:
    """One resolved record: base values applied."""

    record: int
    name: str
    unit: str
    time_s: float
    value: float


def parse_senml(text: str) -> ParsedLog:
    """Read a pressure log.

    Raises
    ------
    PressureLogError
        Names the record, from 1, what was found and what was expected.
    """
    samples = list(_resolved(_records(text)))
    pressures = _one(samples, "pressure", frozenset(_PRESSURES_KPA))
    if not pressures:
        raise PressureLogError(1, "no pressure", "a name that ends in pressure, in Pa or hPa")
    temperatures = _one(samples, "temperature", _TEMPERATURES)
    at = {each.time_s: _celsius(each) for each in temperatures}
    columns = [Column(pressures[0].name, pressures[0].unit)]
    columns += [Column(temperatures[0].name, temperatures[0].unit)] if temperatures else []
    return ParsedLog(
        times_s=np.array([each.time_s for each in pressures]),
        pressures_kpa=np.array([each.value * _PRESSURES_KPA[each.unit] for each in pressures]),
        temperatures_c=(
            np.array([at.get(each.time_s, np.nan) for each in pressures]) if temperatures else None
        ),
        pressure_unit=pressures[0].unit,
        columns=tuple(columns),
        form="SenML",
    )


def _celsius(sample: Sample) -> float:
    return sample.value - ZERO_C_IN_K if sample.unit == "K" else sample.value


def _one(samples: list[Sample], ending: str, units: frozenset[str]) -> list[Sample]:
    """Return the samples of the one thing whose name ends so, all in one known unit."""
    found = [each for each in samples if each.name.lower().endswith(ending)]
    for each in found:
        if each.unit not in units:
            raise PressureLogError(each.record, each.unit, f"unit {' or '.join(sorted(units))}")
        if each.unit != found[0].unit or each.name != found[0].name:
            words = f"one {ending} in one unit"
            raise PressureLogError(each.record, f"{each.name} in {each.unit}", words)
    return found


def _records(text: str) -> list[dict[str, Any]]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        raise PressureLogError(1, text[:20], "a SenML pack: a JSON array of records") from None
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        raise PressureLogError(1, text[:20], "a SenML pack: a JSON array of records")
    return found


def _resolved(records: list[dict[str, Any]]) -> Iterator[Sample]:
    """Apply the base fields, each from its record on, and pass over what is no number."""
    base: dict[str, Any] = {"bn": "", "bt": 0.0, "bu": "", "bv": 0.0}
    for number, record in enumerate(records, start=1):
        _refuse_unknown(number, record)
        base |= {key: record[key] for key in base if key in record}
        if "v" not in record:
            continue
        time_s = _number(number, base["bt"]) + _number(number, record.get("t", 0.0))
        if time_s < LATEST_RELATIVE_S:
            expected = "an absolute time in seconds since 1970, by bt and t"
            raise PressureLogError(number, str(time_s), expected)
        yield Sample(
            record=number,
            name=f"{base['bn']}{record.get('n', '')}",
            unit=str(record.get("u", base["bu"])),
            time_s=time_s,
            value=_number(number, base["bv"]) + _number(number, record["v"]),
        )


def _refuse_unknown(number: int, record: dict[str, Any]) -> None:
    version = record.get("bver", LAST_VERSION)
    if not isinstance(version, int) or version > LAST_VERSION:
        raise PressureLogError(number, f"bver {version}", f"at most {LAST_VERSION}")
    must = [key for key in record if key.endswith("_")]
    if must:
        raise PressureLogError(number, must[0], "no field that must be understood and is not")


def _number(record: int, value: object) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    try:
        number = float(value) if is_number else float("nan")  # type: ignore[arg-type]
    except OverflowError:
        number = float("inf")
    if not isfinite(number):
        raise PressureLogError(record, str(value), "a number")
    return number
