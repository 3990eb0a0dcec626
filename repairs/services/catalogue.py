"""The maker's data, entered once and kept by version."""

from typing import Any, TypeVar

from django.db import IntegrityError, transaction
from django.db.models import Model

from repairs.domain.chart import check_chart
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Chart, KitType, ResinSystem
from repairs.selectors import chart_value

M = TypeVar("M", bound=Model)


def add_resin_system(*, values: dict[str, Any]) -> ResinSystem:
    """Add a resin system under a code of its own."""
    return _add(ResinSystem(**values), "code")


def add_kit_type(*, values: dict[str, Any]) -> KitType:
    """Add a kit type under a code of its own."""
    _band(values)
    return _add(KitType(**values), "code")


def add_chart(*, values: dict[str, Any]) -> tuple[Chart, tuple[str, ...]]:
    """Add a version of a chart; an impossible one is refused, an odd one is told so."""
    _band(values)
    try:
        warnings = check_chart(chart_value(Chart(**values)))
    except ValueError as error:
        field, _, rest = str(error).partition(": ")
        raise malformed(Fault(field, "what was sent", rest)) from error
    return _add(Chart(**values), "version"), warnings


def _band(values: dict[str, Any]) -> None:
    if values["diameter_min_mm"] > values["diameter_max_mm"]:
        raise malformed(
            Fault("diameter_max", f"{values['diameter_max_mm']:g} mm", "at least diameter_min")
        )


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
