"""quantities.csv: what the client pays by, for a spreadsheet (RFC 4180)."""

import csv
import io

from qa.domain.closeout import CloseoutFacts
from qa.domain.spreadsheet_text import inert

HEADER = (
    "repair_ref", "attempt", "work_order", "run_ref", "closed_at",
    "pay_item", "description", "unit", "quantity",
)  # fmt: skip


def quantities_csv(facts: CloseoutFacts) -> bytes:
    """Write one line a pay item, with the references that make it findable alone."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADER)
    writer.writerows(quantity_rows(facts))
    return text.getvalue().encode()


def quantity_rows(facts: CloseoutFacts) -> list[list[str]]:
    """Return the lines of one repair."""
    repair = facts.repair
    closed_at = facts.closed_at.strftime("%Y-%m-%dT%H:%M:%SZ")
    found = []
    for line in facts.quantities:
        words = (
            repair.ref,
            str(repair.attempt),
            repair.work_order,
            facts.run.ref,
            closed_at,
            line.pay_item,
            line.words,
            line.unit,
        )
        found.append([*map(inert, words), format(line.quantity, "f")])
    return found
