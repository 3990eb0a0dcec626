"""The statement as a letter: who, for whom, what was accepted with its sums, and what was not."""

import io
from collections.abc import Sequence

from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer

from qa.closeout.report.block import PLAIN, Cell, ruled, section
from qa.closeout.report.closing import quantity_table
from qa.closeout.report.document import new_document
from qa.closeout.report.page import Edges, numbered_canvas
from qa.closeout.report.style import (
    BODY,
    INK,
    LABEL,
    QUIET,
    SMALL,
    STRONG,
    TINT,
    TITLE,
    UNDER_TITLE,
)
from qa.closeout.report.summary import invented_note
from qa.closeout.report.tagged import Paragraph, Table
from qa.closeout.report.words import NB, listed, xml
from qa.domain.closeout import QuantityFact
from qa.domain.collection import Collection
from qa.domain.statement import ANSWERS, Statement, StatementLine

SHARES = (0.17, 0.15, 0.09, 0.15, 0.12, 0.15, 0.17)
LEAST_ROOM = 130.0
"""Room a table wants below its heading for a first row, points; else it begins on a new page."""
MADE_UP = "This statement shows made-up repairs."
TO_PAY = "Accepted by the customer, and so in the sums to pay."
NOT_TO_PAY = "Closed, but not accepted by the customer when this was made: not in the sums to pay."
HOW = (
    "Each quantity was counted and rounded for its repair by the rules of its contract; the sums "
    "add them exactly. The days are those where the pipe is. This statement names quantities; "
    "prices stand in the contract. statement.csv has the same lines for a spreadsheet, index.csv "
    "the package of each repair with its proof."
)


def statement_pdf(collection: Collection, made: Statement, digest: str) -> bytes:
    """Make the statement; `digest` is the SHA-256 of statement.csv, printed on each page.

    Returns
    -------
    bytes
        A tagged PDF/A-2b as the closeout report is, the same bytes for the same facts.
    """
    out, of = io.BytesIO(), _of(collection)
    paper = collection.members[0].facts.paper if collection.members else "A4"
    document = new_document(
        out,
        paper=paper,
        title=f"Statement for {of}",
        author=collection.contractor_name,
        subject=f"Quantities of sectional repairs for {collection.customer_name}"
        f"{' (invented data)' if collection.invented else ''}",
    )
    edges = Edges(
        whose=f"Statement for {of}",
        contractor_name=collection.contractor_name,
        foot=f"SHA-256 of statement.csv  {digest}",
        invented=collection.invented,
        paper=paper,
    )
    document.build(_story(collection, made, document.width), canvasmaker=numbered_canvas(edges))
    return out.getvalue()


def _story(collection: Collection, made: Statement, width: float) -> list[Flowable]:
    """Put the letter in the order a client pays by: the sums first, then what they are made of."""
    parts: list[Flowable] = [
        Paragraph("Statement of quantities", LABEL),
        Paragraph(xml(_title(collection)), TITLE),
        Paragraph(xml(f"For {collection.customer_name}"), UNDER_TITLE),
        Spacer(1, 8),
    ]
    if collection.invented:
        parts += [invented_note(width, MADE_UP), Spacer(1, 8)]
    parts += [_letterhead(collection, made, width), Spacer(1, 14)]
    parts += _sums("To pay", TO_PAY, made.to_pay, width)
    parts += _repairs("Accepted repairs", "", made.accepted, width)
    if made.not_accepted:
        parts += _repairs("Not accepted yet", NOT_TO_PAY, made.not_accepted, width)
        parts += _sums("Sums of what is not accepted yet", "Not to pay.", made.not_to_pay, width)
    if collection.not_closed:
        words = f"Without a package, so not here: {listed(list(collection.not_closed))}."
        parts.append(KeepTogether([*section("Not closed yet"), Paragraph(xml(words), BODY)]))
        parts.append(Spacer(1, 14))
    return [*parts, KeepTogether([*section("How it was counted"), Paragraph(HOW, BODY)])]


def _letterhead(collection: Collection, made: Statement, width: float) -> Table:
    """Set who, for whom, of what and when, side by side under a rule."""
    closed = len(collection.members)
    told = (
        ("Contractor", collection.contractor_name, ""),
        ("Customer", collection.customer_name, collection.customer_code),
        ("Closed", str(closed), f"{len(made.accepted)} accepted, {len(made.not_accepted)} not yet"),
        ("Made on", f"{collection.collected_at:%Y-%m-%d}", f"{collection.collected_at:%H:%M} UTC"),
    )
    cells = [
        [Paragraph(label, LABEL), Paragraph(xml(words), STRONG), Paragraph(xml(beside), QUIET)]
        for label, words, beside in told
    ]
    shares = (0.3, 0.3, 0.22, 0.18)
    table = Table([cells], [width * share for share in shares])
    table.setStyle(
        [
            *PLAIN,
            ("BACKGROUND", (0, 0), (-1, -1), TINT),
            ("LINEABOVE", (0, 0), (-1, 0), 1.4, INK),
            ("LEFTPADDING", (0, 0), (-1, -1), 8),
            ("TOPPADDING", (0, 0), (-1, -1), 6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
        ]
    )
    return table


def _sums(title: str, under: str, totals: Sequence[QuantityFact], width: float) -> list[Flowable]:
    body = quantity_table(totals, width) if totals else Paragraph("Nothing yet.", BODY)
    return [KeepTogether([*section(title, under), body]), Spacer(1, 16)]


def _repairs(
    title: str, under: str, lines: Sequence[StatementLine], width: float
) -> list[Flowable]:
    """Set one row a closed attempt."""
    if not lines:
        return [KeepTogether([*section(title, under), Paragraph("None.", BODY)]), Spacer(1, 16)]
    rows: list[list[Cell]] = [
        [
            Paragraph(xml(words), SMALL)
            for words in (
                line.run_ref,
                line.repair_ref,
                str(line.attempt),
                line.work_order,
                line.closed_on.isoformat(),
                ANSWERS[line.answer],
                "\n".join(map(_quantity, line.quantities)) or "nothing to pay by",
            )
        ]
        for line in lines
    ]
    head = ("Pipe", "Repair", "Attempt", "Order", "Closed", "Answer", "Quantities")
    table = ruled(head, rows, [width * share for share in SHARES])
    heading = section(title, under)
    for each in heading:
        each.keepWithNext = 0  # else a long table would begin on a page of its own
    return [CondPageBreak(LEAST_ROOM), *heading, table, Spacer(1, 16)]


def _quantity(each: QuantityFact) -> str:
    return f"{each.pay_item}: {each.quantity:f}{NB}{each.unit}"


def _of(collection: Collection) -> str:
    return f"{'month' if collection.month else 'order'} {collection.of}"


def _title(collection: Collection) -> str:
    """Begin with a capital and keep the order's own letters."""
    of = _of(collection)
    return of[:1].upper() + of[1:]
