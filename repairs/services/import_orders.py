"""Takes an order file row by row: one bad row never costs the others."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import DatabaseError, transaction

from repairs.domain.order_file import CutRow
from repairs.domain.order_row import read_order_row
from repairs.domain.problem import Fault, Refused
from repairs.models import Customer, RequirementSet
from repairs.services.place_order import place_order

STORED = "stored"
ALREADY_THERE = "already there"
NOT_UNDERSTOOD = "not understood"
_EASTERNMOST = timedelta(hours=14)
"""Where the day begins first: a film of today, local time, is never in the future."""


@dataclass(frozen=True, slots=True)
class RowAnswer:
    """What became of one row, counted from 1; `line` is the file's line where it begins.

    The heading is line 1. Rows that came as GeoJSON or JSON have no line.
    """

    row: int
    line: int | None
    outcome: str
    repair: str
    repair_id: UUID | None
    faults: tuple[Fault, ...] = ()


@transaction.atomic
def import_orders(
    *,
    customer: Customer,
    requirement_set: RequirementSet | None,
    rows: Iterable[CutRow],
    now: datetime,
) -> list[RowAnswer]:
    """Store each row that can be understood; each in a savepoint of its own."""
    today = (now + _EASTERNMOST).date()
    return [_take(n, customer, requirement_set, row, today) for n, row in enumerate(rows, start=1)]


def _take(
    number: int,
    customer: Customer,
    requirement_set: RequirementSet | None,
    cut: CutRow,
    today: date,
) -> RowAnswer:
    ref = str(cut.cells.get("repair") or "")
    row = read_order_row(cut.cells, today)
    if isinstance(row, tuple):
        return RowAnswer(number, cut.line, NOT_UNDERSTOOD, ref, None, row)
    try:
        with transaction.atomic():
            placed = place_order(customer=customer, requirement_set=requirement_set, row=row)
    except Refused as refused:
        return RowAnswer(number, cut.line, NOT_UNDERSTOOD, ref, None, refused.faults)
    except DatabaseError as error:
        # A value the reader let through but the database does not hold, such as a
        # text longer than its column: the row is told, the file goes on.
        fault = Fault("row", type(error).__name__, f"values the record can hold ({error})")
        return RowAnswer(number, cut.line, NOT_UNDERSTOOD, ref, None, (fault,))
    outcome = STORED if placed.created else ALREADY_THERE
    return RowAnswer(number, cut.line, outcome, ref, placed.repair.id)
