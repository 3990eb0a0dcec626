"""Takes a file of charts, each by itself: a mistyped one never costs the others."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from repairs.domain.chart_file import ChartSheet, ReadChart
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import ResinSystem
from repairs.services.catalogue import add_chart

STORED = "stored"
ALREADY_THERE = "already there"
NOT_STORED = "not stored"


@dataclass(frozen=True, slots=True)
class ChartAnswer:
    """What became of one chart of the file, and on which lines it stands."""

    chart: str
    lines: tuple[int, ...]
    outcome: str
    chart_id: UUID | None
    faults: tuple[Fault, ...] = ()
    warnings: tuple[str, ...] = ()


@transaction.atomic
def import_charts(*, charts: Iterable[ReadChart]) -> list[ChartAnswer]:
    """Store each chart that is whole; each in a savepoint of its own."""
    return [_take(read) for read in charts]


def _take(read: ReadChart) -> ChartAnswer:
    if read.sheet is None:
        return ChartAnswer(read.name, read.lines, NOT_STORED, None, read.faults)
    try:
        with transaction.atomic():
            row, warnings = add_chart(values=_values(read.sheet))
    except Refused as refused:
        known = refused.code == "already_there"
        outcome = ALREADY_THERE if known else NOT_STORED
        return ChartAnswer(read.name, read.lines, outcome, None, refused.faults)
    return ChartAnswer(read.name, read.lines, STORED, row.pk, (), warnings)


def _values(sheet: ChartSheet) -> dict[str, Any]:
    resin = ResinSystem.objects.filter(code=sheet.resin_system).first()
    if resin is None:
        entered = "the code of a resin system that has been entered"
        raise malformed(Fault("resin_system", sheet.resin_system, entered))
    rows = [[row.temperature_c, row.minutes] for row in sheet.rows]
    return {**asdict(sheet), "resin_system": resin, "rows": rows}
