"""statement.csv: what is to be paid of an order or month, for a spreadsheet (RFC 4180)."""

import csv
import io
from collections.abc import Iterator, Sequence

from qa.domain.closeout import QuantityFact
from qa.domain.spreadsheet_text import inert
from qa.domain.statement import ANSWERS, Statement, StatementLine

HEADER = (
    "line", "to_pay", "run_ref", "repair_ref", "attempt", "work_order", "closed_on", "answer",
    "answered_on", "pay_item", "description", "unit", "quantity", "of", "rule",
)  # fmt: skip


def statement_csv(made: Statement) -> bytes:
    """Write a line for each pay item of each repair, then the sums; `to_pay` is yes or no.

    `closed_on` and `answered_on` are days where the pipe is. A repair of which nothing is paid has
    one line without pay item and quantity. `of` and `rule` stand in every line, so that tables of
    several statements can be put together and none is added up by two rules.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADER)
    whose = [inert(made.whose.of), made.whose.rule.value]
    for to_pay, lines, totals in (
        ("yes", made.accepted, made.to_pay),
        ("no", made.not_accepted, made.not_to_pay),
    ):
        writer.writerows([*row, *whose] for row in _rows(to_pay, lines))
        writer.writerows(["sum", to_pay, *[""] * 7, *_quantity(each), *whose] for each in totals)
    return text.getvalue().encode()


def _rows(to_pay: str, lines: Sequence[StatementLine]) -> Iterator[list[str]]:
    for line in lines:
        where = [
            *map(inert, (line.run_ref, line.repair_ref)),
            str(line.attempt),
            inert(line.work_order),
            line.closed_on.isoformat(),
            ANSWERS[line.answer],
            "" if line.answered_on is None else line.answered_on.isoformat(),
        ]
        counted = [_quantity(each) for each in line.quantities] or [["", "", "", ""]]
        yield from (["repair", to_pay, *where, *each] for each in counted)


def _quantity(each: QuantityFact) -> list[str]:
    return [*map(inert, (each.pay_item, each.words, each.unit)), format(each.quantity, "f")]
