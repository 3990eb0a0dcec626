"""Reads a pressure log as loggers write it: CSV with units in the column names.

Columns: ``time`` (ISO 8601 with offset), one of ``pressure_psi``, ``pressure_kpa``,
``pressure_bar``, ``pressure_mbar``, and, if logged, ``temperature_c`` or
``temperature_f``; ``Pressure [bar]`` or ``Temperature (°C)`` says the same. Commas, semicolons,
tabs or bars part them; with any but commas a decimal comma is understood. A unit is never
guessed.
"""

import csv
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from itertools import islice
from types import MappingProxyType
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from repairs.domain.units import Dimension, parse_array

PRESSURE_COLUMNS = MappingProxyType(
    {
        "pressure_psi": "psi",
        "pressure_kpa": "kPa",
        "pressure_bar": "bar",
        "pressure_mbar": "mbar",
    }
)
TEMPERATURE_COLUMNS = MappingProxyType({"temperature_c": "degC", "temperature_f": "degF"})
_SEPARATORS = (";", "\t", "|", ",")
_UNIT_IN_HEADER = re.compile(r"(pressure|temperature)[ _]*[\[(/]? ?(?:°|deg)?([a-z]+) ?[\])]?")
_CHUNK_ROWS = 4_000
"""Rows converted at once: enough to be quick, few enough to stay in the cache."""
_SHOWN_CHARACTERS = 40


class PressureLogError(ValueError):
    """A pressure log that cannot be read: which line, what was found, what was expected."""

    def __init__(self, line: int, found: str, expected: str) -> None:
        shown = found if len(found) <= _SHOWN_CHARACTERS else found[:_SHOWN_CHARACTERS] + "…"
        super().__init__(f"Line {line}: found {shown!r}, expected {expected}.")
        self.line = line
        self.found = shown
        self.expected = expected


@dataclass(frozen=True, slots=True)
class Column:
    """A column that was recognised, as the file names it, and its unit."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True, eq=False)
class ParsedLog:
    """A pressure log in file order.

    Parameters
    ----------
    times_s
        Seconds since 1970-01-01T00:00Z.
    pressures_kpa
        Gauge pressures.
    temperatures_c
        The same length with NaN where a cell was empty, or None without such a column.
    pressure_unit
        The unit in the file, as the column named it.
    columns, form
        What was recognised of the file, and how it was written.
    """

    times_s: NDArray[np.float64]
    pressures_kpa: NDArray[np.float64]
    temperatures_c: NDArray[np.float64] | None
    pressure_unit: str
    columns: tuple[Column, ...] = ()
    form: str = "CSV"


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the columns are, and how the file writes numbers."""

    separator: str
    time: int
    pressure: int
    temperature: int | None
    pressure_unit: str
    temperature_unit: str
    names: tuple[str, ...]

    @property
    def width(self) -> int:
        """How many columns the header has."""
        return len(self.names)

    @property
    def columns(self) -> tuple[Column, ...]:
        """The columns that are used."""
        found = [
            Column(self.names[self.time], ""),
            Column(self.names[self.pressure], self.pressure_unit),
        ]
        if self.temperature is not None:
            found.append(Column(self.names[self.temperature], self.temperature_unit))
        return tuple(found)


class _Rows(Protocol):
    """What `csv.reader` returns: rows, and the number of the last line read."""

    @property
    def line_num(self) -> int: ...

    def __iter__(self) -> Iterator[list[str]]: ...


def parse_pressure_csv(text: str) -> ParsedLog:
    """Read a pressure log.

    Parameters
    ----------
    text
        The whole file; a byte-order mark and empty lines are passed over.

    Returns
    -------
    ParsedLog
        Times, pressures in kPa, and temperatures where logged; in file order.

    Raises
    ------
    PressureLogError
        A ValueError naming line, what was found and what was expected.

    Source
    ------
    RFC 4180 (CSV), ISO 8601 (times).
    """
    body = text.removeprefix("\ufeff")
    layout, header_line = _layout(body)
    rows = _rows(body, layout, header_line)
    parts = []
    while chunk := list(islice(rows, _CHUNK_ROWS)):
        try:
            parts.append(_columns(chunk, layout))
        except (ValueError, IndexError, OverflowError):
            # The quick way does not know which row is wrong; the slow one names it.
            _name_bad_row(body, layout, header_line)
            raise
    if not parts:
        raise PressureLogError(header_line + 1, "nothing", "at least one row of readings")
    times_s, pressures, temperatures = (
        np.concatenate(column) for column in zip(*parts, strict=True)
    )
    has_temperature = layout.temperature is not None
    return ParsedLog(
        times_s=times_s,
        pressures_kpa=parse_array(pressures, layout.pressure_unit, Dimension.PRESSURE),
        temperatures_c=(
            parse_array(temperatures, layout.temperature_unit, Dimension.TEMPERATURE)
            if has_temperature
            else None
        ),
        pressure_unit=layout.pressure_unit,
        columns=layout.columns,
    )


def _layout(body: str) -> tuple[_Layout, int]:
    for line, header in enumerate(StringIO(body, newline=None), start=1):
        if header.strip():
            return _layout_of(header.strip(), line), line
    raise PressureLogError(1, "nothing", "a header such as time,pressure_psi")


def _layout_of(header: str, line: int) -> _Layout:
    separator = next((each for each in _SEPARATORS if each in header), ",")
    shown = tuple(name.strip().strip('"') for name in header.split(separator))
    names = [_known_name(name.lower()) for name in shown]
    times = [index for index, name in enumerate(names) if name == "time"]
    pressures = [index for index, name in enumerate(names) if name in PRESSURE_COLUMNS]
    temperatures = [index for index, name in enumerate(names) if name in TEMPERATURE_COLUMNS]
    if len(times) != 1:
        raise PressureLogError(line, header, "one column named time")
    if len(pressures) != 1:
        expected = f"one pressure column with its unit: {', '.join(PRESSURE_COLUMNS)}"
        raise PressureLogError(line, header, expected)
    if len(temperatures) > 1:
        raise PressureLogError(line, header, "at most one temperature column")
    temperature = temperatures[0] if temperatures else None
    return _Layout(
        separator=separator,
        time=times[0],
        pressure=pressures[0],
        temperature=temperature,
        pressure_unit=PRESSURE_COLUMNS[names[pressures[0]]],
        temperature_unit="degC" if temperature is None else TEMPERATURE_COLUMNS[names[temperature]],
        names=shown,
    )


def _known_name(name: str) -> str:
    """Return ``pressure_bar`` for ``pressure [bar]`` and its like."""
    found = _UNIT_IN_HEADER.fullmatch(name)
    return "_".join(found.groups()) if found else name


def _reader(body: str, layout: _Layout, header_line: int) -> "_Rows":
    stream = StringIO(body, newline="")
    for _ in range(header_line):
        next(stream)
    return csv.reader(stream, delimiter=layout.separator)


def _rows(body: str, layout: _Layout, header_line: int) -> Iterator[list[str]]:
    reader = _reader(body, layout, header_line)
    try:
        yield from filter(None, reader)
    except csv.Error as error:
        line = header_line + reader.line_num
        raise PressureLogError(line, str(error), "a row of CSV") from error


def _columns(
    rows: Sequence[Sequence[str]], layout: _Layout
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Convert many rows at once; raises a bare ValueError when one of them is wrong."""
    times_s = _times([row[layout.time] for row in rows])
    pressures = _numbers([row[layout.pressure] for row in rows], layout)
    if not np.isfinite(pressures).all():
        raise ValueError("pressure is not finite")
    if layout.temperature is None:
        return times_s, pressures, np.empty(0)
    index = layout.temperature
    # A logger without its probe leaves the cell empty, or drops it at the row's end.
    cells = [row[index].strip() if index < len(row) else "" for row in rows]
    temperatures = _numbers([cell or "nan" for cell in cells], layout)
    if np.count_nonzero(np.isnan(temperatures)) != cells.count("") or np.isinf(temperatures).any():
        raise ValueError("temperature is not a number")
    return times_s, pressures, temperatures


def _times(cells: list[str]) -> NDArray[np.float64]:
    try:
        times = [datetime.fromisoformat(cell) for cell in cells]
    except ValueError:
        times = [datetime.fromisoformat(cell.strip()) for cell in cells]
    if any(at.tzinfo is None for at in times):
        raise ValueError("a time has no offset")
    return np.array([at.timestamp() for at in times], dtype=np.float64)


def _numbers(cells: list[str], layout: _Layout) -> NDArray[np.float64]:
    if layout.separator != ",":
        cells = [cell.replace(",", ".") for cell in cells]
    return np.array(list(map(float, cells)), dtype=np.float64)


def _name_bad_row(body: str, layout: _Layout, header_line: int) -> None:
    reader = _reader(body, layout, header_line)
    for row in reader:
        if row:
            _refuse_row(header_line + reader.line_num, row, layout)


def _refuse_row(line: int, row: Sequence[str], layout: _Layout) -> None:
    if len(row) <= max(layout.time, layout.pressure):
        raise PressureLogError(line, layout.separator.join(row), f"{layout.width} columns")
    try:
        _times([row[layout.time]])
    except (ValueError, OverflowError):
        expected = "a time with offset, such as 2026-11-25T14:05:00+00:00"
        raise PressureLogError(line, row[layout.time], expected) from None
    _refuse_number(line, row[layout.pressure], layout, "a pressure in " + layout.pressure_unit)
    if layout.temperature is not None and layout.temperature < len(row):
        cell = row[layout.temperature].strip()
        if cell:
            _refuse_number(line, cell, layout, "a temperature in " + layout.temperature_unit)


def _refuse_number(line: int, cell: str, layout: _Layout, expected: str) -> None:
    plain = cell.replace(",", ".") if layout.separator != "," else cell
    try:
        is_number = math.isfinite(float(plain))
    except ValueError:
        is_number = False
    if not is_number:
        raise PressureLogError(line, cell, expected)
