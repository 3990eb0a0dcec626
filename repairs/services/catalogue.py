"""The maker's data, entered once and kept by version."""

from typing import Any, TypeVar

from django.db import IntegrityError, transaction
from django.db.models import Model

from repairs.domain.chart import ChartRow, chart_faults, check_chart
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Chart, KitType, ResinSystem
from repairs.selectors import chart_value

M = TypeVar("M", bound=Model)


def add_resin_system(*, values: dict[str, Any]) -> ResinSystem:
    """Add a resin system under a code of its own."""
    return _add(ResinSystem(**values), "code")


def add_kit_type(*, values: dict[str, Any]) -> KitType:
    """Add a kit type under a code of its own."""
    faults = _band(values)
    usual_kpa, limit_kpa = values["usual_inflation_kpa"], values["limit_kpa"]
    if usual_kpa > limit_kpa:
        faults.append(Fault("usual_inflation", f"{usual_kpa:g} kPa", f"at most {limit_kpa:g} kPa"))
    _refuse(faults)
    return _add(KitType(**values), "code")


def add_chart(*, values: dict[str, Any]) -> tuple[Chart, tuple[str, ...]]:
    """Add a version of a chart; an impossible one is refused, an odd one is told so."""
    rows = [ChartRow(*row) for row in values["rows"]]
    _refuse([*_band(values), *chart_faults(rows, values["clock_start"], values["rounding_min"])])
    warnings = check_chart(chart_value(Chart(**values)))
    return _add(Chart(**values), "version"), warnings


def _band(values: dict[str, Any]) -> list[Fault]:
    low_mm, high_mm = values["diameter_min_mm"], values["diameter_max_mm"]
    if low_mm <= high_mm:
        return []
    return [Fault("diameter_max", f"{high_mm:g} mm", f"at least diameter_min, {low_mm:g} mm")]


def _refuse(faults: list[Fault]) -> None:
    if faults:
        raise malformed(*faults)


def _add(row: M, key: str) -> M:
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as error:
        found = str(getattr(row, key))
        raise Refused(
            "already_there",
            f"{key}: {found!r} is there and stays as it is; choose another or the next version.",
            faults=[Fault(key, found, "one that is not there yet")],
        ) from error
    return row
