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
from qa.domain.months import month_begun, month_read
from qa.domain.statement import ANSWERS, Rule, Statement, StatementLine, StatementOf

SHARES = (0.16, 0.12, 0.09, 0.14, 0.12, 0.14, 0.23)
LEAST_ROOM = 130.0
"""Room a table wants below its heading for a first row, points; else it begins on a new page."""
MADE_UP = "This statement shows made-up repairs."
TO_PAY = {
    Rule.MONTH: "Accepted by the customer in this month, whenever it was closed.",
    Rule.ORDER: "Accepted by the customer so far.",
    Rule.COLLECTED: "Accepted by the customer, and so in the sums to pay.",
}
NOT_TO_PAY = {
    Rule.MONTH: "Closed in this month, but not accepted {until}: not in the sums to pay.",
    Rule.ORDER: "Closed, but not accepted so far: not in the sums to pay.",
    Rule.COLLECTED: (
        "Closed, but not accepted by the customer when this was made: not in the sums to pay."
    ),
}
RETURNED = "A returned attempt is never paid; the repair is done again."
COUNTED_BY = {
    Rule.MONTH: (
        "A repair is to pay in the month in which the customer accepted it, by the calendar where "
        "the pipe is: over all months each accepted repair is paid once. One that was closed and "
        "not accepted stands unpaid in the month of its closing, and to pay in the month in which "
        "it is accepted. A month that is over does not change."
    ),
    Rule.ORDER: (
        "It holds all of the order, whenever it was accepted; the statements of the months have "
        "the same repairs by the month of acceptance. Pay by the one or by the other."
    ),
    Rule.COLLECTED: (
        "It belongs to a collected package and tells the answers given until that was collected; "
        "of a month it holds what was closed in it. The monthly statement counts otherwise, by the "
        "month of acceptance. Pay by the one or by the other."
    ),
}
HOW = (
    "Each quantity was counted and rounded for its repair by the rules of its contract; the sums "
    "add them exactly. The days are those where the pipe is. This statement names quantities; "
    "prices stand in the contract. statement.csv has the same lines for a spreadsheet{more}."
)


def statement_pdf(made: Statement, digest: str) -> bytes:
    """Make the statement; `digest` is the SHA-256 of statement.csv, printed on each page.

    Returns
    -------
    bytes
        A tagged PDF/A-2b as the closeout report is, the same bytes for the same facts.
    """
    out, whose, of = io.BytesIO(), made.whose, _of(made.whose)
    document = new_document(
        out,
        paper=whose.paper,
        title=f"Statement for {of}",
        author=whose.contractor_name,
        subject=f"Quantities of sectional repairs for {whose.customer_name}"
        f"{' (invented data)' if whose.invented else ''}",
    )
    edges = Edges(
        whose=f"Statement for {of}",
        contractor_name=whose.contractor_name,
        foot=f"SHA-256 of statement.csv  {digest}",
        invented=whose.invented,
        paper=whose.paper,
        made_at=whose.told_at,
    )
    document.build(_story(made, document.width), canvasmaker=numbered_canvas(edges))
    return out.getvalue()


def _story(made: Statement, width: float) -> list[Flowable]:
    """Put the letter in the order a client pays by: the sums first, then what they are made of."""
    whose = made.whose
    parts: list[Flowable] = [
        Paragraph(_label(whose), LABEL),
        Paragraph(xml(_title(whose)), TITLE),
        Paragraph(xml(f"For {whose.customer_name}"), UNDER_TITLE),
        Spacer(1, 8),
    ]
    if whose.invented:
        parts += [invented_note(width, MADE_UP), Spacer(1, 8)]
    parts += [_letterhead(made, width), Spacer(1, 14)]
    parts += _sums("To pay", TO_PAY[whose.rule], made.to_pay, width)
    parts += _repairs("Accepted repairs", "", made.accepted, width)
    if made.not_accepted:
        parts += _not_paid(made, width)
    if whose.not_closed:
        words = f"Not here as they will be: {listed(list(whose.not_closed))}."
        parts.append(KeepTogether([*section("Not closed yet"), Paragraph(xml(words), BODY)]))
        parts.append(Spacer(1, 14))
    counted = [
        *section("How it was counted"),
        Paragraph(COUNTED_BY[whose.rule], BODY),
        Spacer(1, 6),
        Paragraph(HOW.format(more=_more(whose)), BODY),
    ]
    return [*parts, KeepTogether(counted)]


def _not_paid(made: Statement, width: float) -> list[Flowable]:
    """Tell apart what was returned, and is never paid, and what waits for an answer."""
    parts: list[Flowable] = []
    if made.returned:
        under = f"{RETURNED} {_not_to_pay(made.whose)}"
        parts += _repairs("Not to pay: returned", under, made.returned, width)
    if made.waiting:
        under = _not_to_pay(made.whose)
        parts += _repairs("Not to pay: not answered yet", under, made.waiting, width)
    words = "Returned and not answered yet, together."
    return parts + _sums("Sums of what is not to pay", words, made.not_to_pay, width)


def _label(whose: StatementOf) -> str:
    of_package = whose.rule is Rule.COLLECTED
    return "Statement of a collected package" if of_package else "Statement of quantities"


def _not_to_pay(whose: StatementOf) -> str:
    return NOT_TO_PAY[whose.rule].format(until="so far" if whose.stands_at else "by its end")


def _more(whose: StatementOf) -> str:
    packaged = whose.rule is Rule.COLLECTED
    return ", index.csv the package of each repair with its proof" if packaged else ""


def _counts(made: Statement) -> str:
    accepted, returned, waiting = map(len, (made.accepted, made.returned, made.waiting))
    return f"{accepted} accepted, {returned} returned, {waiting} not answered yet"


def _letterhead(made: Statement, width: float) -> Table:
    """Set who, for whom, of what and when, side by side under a rule."""
    whose = made.whose
    listed_ones = len(made.accepted) + len(made.not_accepted)
    told = (
        ("Contractor", whose.contractor_name, ""),
        ("Customer", whose.customer_name, whose.customer_code),
        (
            "Repairs",
            str(listed_ones),
            _counts(made),
        ),
        _stands(whose),
    )
    cells = [
        [Paragraph(label, LABEL), Paragraph(xml(words), STRONG), Paragraph(xml(beside), QUIET)]
        for label, words, beside in told
    ]
    shares = (0.28, 0.28, 0.19, 0.25)
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


def _stands(whose: StatementOf) -> tuple[str, str, str]:
    """Say as of when the answers are told: a month that is over is told as of its end."""
    at = whose.stands_at
    if at is None:
        return ("As of", "the month's end", "it does not change any more")
    running = ""
    if whose.rule is Rule.MONTH:
        begun = month_begun(month_read(whose.of), now=at)
        running = ", month not over" if begun else ", month not begun"
    label = "Made on" if whose.rule is Rule.COLLECTED else "As of"
    return (label, f"{at:%Y-%m-%d}", f"{at:%H:%M} UTC{running}")


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
                _answer(line),
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


def _answer(line: StatementLine) -> str:
    on = "" if line.answered_on is None else f"\n{line.answered_on.isoformat()}"
    return f"{ANSWERS[line.answer]}{on}"


def _quantity(each: QuantityFact) -> str:
    return f"{each.pay_item}: {each.quantity:f}{NB}{each.unit}"


def _of(whose: StatementOf) -> str:
    return f"{'month' if whose.month else 'order'} {whose.of}"


def _title(whose: StatementOf) -> str:
    """Begin with a capital and keep the order's own letters."""
    of = _of(whose)
    return of[:1].upper() + of[1:]
