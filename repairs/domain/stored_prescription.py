"""Reads a stored prescription back into what the clocks need."""

from collections.abc import Mapping
from typing import Any

from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.clocks import ClockBasis


def clock_basis(inputs: Mapping[str, Any], result: Mapping[str, Any] | None) -> ClockBasis | None:
    """Return charts, allowance and declared temperatures; None without a prescription."""
    if not result or not result["working_chart"] or not result["cure_chart"]:
        return None
    conditions = inputs["conditions"]
    return ClockBasis(
        working_chart=_chart(result["working_chart"]),
        cure_chart=_chart(result["cure_chart"]),
        model_allowance=float(result["model_allowance"]),
        declared_wall_c=conditions["wall_temperature_c"],
        declared_resin_c=conditions["resin_temperature_c"],
    )


def _chart(stored: Mapping[str, Any]) -> Chart:
    return Chart(
        rows=tuple(ChartRow(row["temperature_c"], row["minutes"]) for row in stored["rows"]),
        clock_start=ClockStart(stored["clock_start"]),
        rounding_min=float(stored["rounding_min"]),
        version=stored["version"],
        source=stored["source"],
    )
