"""Reads charts from a CSV: a line a printed row, lines of one chart beside each other or not."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from repairs.domain.chart import (
    HIGHEST_CHART_C,
    LONGEST_CHART_MIN,
    LOWEST_CHART_C,
    ChartRow,
    ClockStart,
    chart_faults,
)
from repairs.domain.order_cells import DIAMETER_UNITS, Cells
from repairs.domain.order_file import CutRow
from repairs.domain.problem import Fault, shown
from repairs.domain.units import Dimension

CURE, WORKING = "cure", "working"
SUCH_AS = "resin_system,purpose,diameter_min_mm,diameter_max_mm,clock_start,..."
"""The first columns, to be named when a file has no heading."""
WIDEST_MM = 5_000.0
COARSEST_ROUNDING_MIN = 120.0
_NAMES = ("resin_system", "purpose", "version")
_ALIKE = ("diameter_max_mm", "clock_start", "rounding_min", "source")
_SHORTEST_MIN = 0.1
_ROW = re.compile(r"rows\[(\d+)\]\.(\w+)")


@dataclass(frozen=True, slots=True)
class ChartSheet:
    """One chart as a file holds it.

    Parameters
    ----------
    resin_system, purpose, version
        Which chart it is; `purpose` is ``cure`` or ``working``.
    diameter_min_mm, diameter_max_mm
        The size band it was printed for.
    clock_start, rounding_min, source
        As in `repairs.domain.chart.Chart`.
    rows
        Temperatures rising, whatever the order of the lines.
    """

    resin_system: str
    purpose: str
    version: str
    diameter_min_mm: float
    diameter_max_mm: float
    clock_start: str
    rounding_min: float
    source: str
    rows: tuple[ChartRow, ...]


@dataclass(frozen=True, slots=True)
class ReadChart:
    """A chart of the file: its name, its lines, and the sheet or what is wrong with it."""

    name: str
    lines: tuple[int, ...]
    sheet: ChartSheet | None
    faults: tuple[Fault, ...] = ()


def read_charts(cut: Iterable[CutRow]) -> tuple[ReadChart, ...]:
    """Put the lines of a file together to charts, each judged by itself.

    Parameters
    ----------
    cut
        Lines with the columns resin_system, purpose, version, diameter_min_mm and
        diameter_max_mm (or in, cm, m), clock_start, rounding_min, source,
        temperature_c or temperature_f, and minutes. Lines with the same resin system,
        purpose, version and smallest diameter are one chart.

    Returns
    -------
    tuple of ReadChart
        In the order in which they first stand in the file. A chart with a fault in any
        line has no sheet: half a chart would be another chart.
    """
    charts: dict[tuple[str, ...], list[CutRow]] = {}
    for row in cut:
        charts.setdefault(_key(row.cells), []).append(row)
    return tuple(_read(rows) for rows in charts.values())


def _key(cells: Mapping[str, object]) -> tuple[str, ...]:
    text = {name.strip().lower(): str(cell).strip() for name, cell in cells.items() if name}
    sizes = (f"diameter_min_{unit}" for unit in DIAMETER_UNITS)
    return tuple(text.get(name, "") for name in (*_NAMES, *sizes))


def _read(lines: list[CutRow]) -> ReadChart:
    name = " ".join(part for part in _key(lines[0].cells)[: len(_NAMES)] if part) or "no name"
    numbers = tuple(line.line or 0 for line in lines)
    sheets, faults = [], []
    for line in lines:
        sheet, found = _one_row(line)
        sheets.append(sheet)
        faults += [replace(fault, field=f"line {line.line}, {fault.field}") for fault in found]
    faults = faults or _disagreement(lines, sheets)
    if faults:
        return ReadChart(name, numbers, None, tuple(faults))
    printed = sorted(
        ((sheet.rows[0], number) for sheet, number in zip(sheets, numbers, strict=True)),
        key=lambda each: each[0].temperature_c,
    )
    whole = replace(sheets[0], rows=tuple(row for row, _ in printed))
    wrong = chart_faults(whole.rows, whole.clock_start, whole.rounding_min)
    told = tuple(_on_its_line(fault, [number for _, number in printed]) for fault in wrong)
    return ReadChart(name, numbers, None if wrong else whole, told)


def _on_its_line(fault: Fault, lines: list[int]) -> Fault:
    """Name the line of the file instead of the row of the chart."""
    found = _ROW.fullmatch(fault.field)
    if found is None:
        return fault
    return replace(fault, field=f"line {lines[int(found[1])]}, {found[2]}")


def _one_row(line: CutRow) -> tuple[ChartSheet, list[Fault]]:
    """Read one line as a chart of one row; with faults the values say nothing."""
    cells = Cells(line.cells)
    size = (Dimension.DIAMETER, DIAMETER_UNITS, 1.0, WIDEST_MM)
    at = (Dimension.TEMPERATURE, ("c", "f"), LOWEST_CHART_C, HIGHEST_CHART_C)
    sheet = ChartSheet(
        resin_system=cells.text("resin_system", "the code of a resin system"),
        purpose=cells.word("purpose", (CURE, WORKING), required=True),
        version=cells.text("version", "which chart it is"),
        diameter_min_mm=cells.quantity("diameter_min", *size, required=True) or 0.0,
        diameter_max_mm=cells.quantity("diameter_max", *size, required=True) or 0.0,
        clock_start=cells.word("clock_start", tuple(ClockStart), required=True),
        rounding_min=_asked(cells, "rounding_min", 0.0, COARSEST_ROUNDING_MIN),
        source=cells.text("source", "where it was printed"),
        rows=(
            ChartRow(
                temperature_c=cells.quantity("temperature", *at, required=True) or 0.0,
                minutes=_asked(cells, "minutes", _SHORTEST_MIN, LONGEST_CHART_MIN),
            ),
        ),
    )
    return sheet, cells.faults


def _asked(cells: Cells, name: str, low: float, high: float) -> float:
    return cells.number(name, low, high, required=True) or 0.0


def _disagreement(lines: list[CutRow], sheets: list[ChartSheet]) -> list[Fault]:
    """Name each line whose words are not those of the chart's first line."""
    return [
        Fault(
            f"line {line.line}, {name}",
            shown(getattr(sheet, name)),
            f"{shown(getattr(sheets[0], name))} as on line {lines[0].line}",
        )
        for line, sheet in zip(lines, sheets, strict=True)
        for name in _ALIKE
        if getattr(sheet, name) != getattr(sheets[0], name)
    ]
