"""Draws the pictures of the closeout report and the statement from an invented repair.

    .venv/bin/python -m docs.pictures.make_report_pages

They are made by the code that makes a client's report. The pictures lie beside this file.
"""

import tempfile
from dataclasses import replace
from datetime import date
from hashlib import sha256
from pathlib import Path

import pypdfium2
from PIL import Image

from qa.closeout.payload import evidence_paths
from qa.closeout.record import digest, record_json
from qa.closeout.report.build import report_pdf
from qa.closeout.report.statement import statement_pdf
from qa.closeout.statement import statement_csv
from qa.domain.closeout import CloseoutFacts, WaiverFact
from qa.domain.statement import Rule, StatementLine, StatementOf, statement
from tests.qa.closeout_example import Example, example

HERE = Path(__file__).parent
SCALE, COLOURS = 1.3, 48
PAGES = {
    "report-page-1.png": "Closeout report",
    "report-page-3.png": "Pressure",
    "report-requirements.png": "Nonconformances",
}
"""The first page on which a line begins with the words."""
GREY = ("Where in the pipe", "Temperature and cure", "Photographs")
"""Pages beside each other as a printer without colours gives them."""
GREY_SCALE, UPPER = 0.9, 0.8
MONTH = (
    ("R-20388", "RUN-2031-2032", 1, date(2031, 2, 27), "accepted", date(2031, 3, 3)),
    ("R-20417", "RUN-2041-2042", 1, date(2031, 3, 4), "returned", date(2031, 3, 9)),
    ("R-20417", "RUN-2041-2042", 2, date(2031, 3, 12), "accepted", date(2031, 3, 17)),
    ("R-20419", "RUN-2041-2042", 1, date(2031, 3, 12), "accepted", date(2031, 3, 17)),
    ("R-20431", "RUN-2050-2051", 1, date(2031, 3, 20), "accepted", date(2031, 3, 28)),
    ("R-20432", "RUN-2050-2051", 1, date(2031, 3, 27), "", None),
)
"""Repair, pipe, attempt, closed on, answer, answered on; the first was closed in February."""


def main() -> None:
    """Draw all of them."""
    with tempfile.TemporaryDirectory() as folder:
        made = example(Path(folder), photos=4)
        facts = _with_a_judgement(made.facts)
        _report(Example(facts, made.files))
        _statement(facts)


def _with_a_judgement(facts: CloseoutFacts) -> CloseoutFacts:
    """Have a reviewer judge what the rule could not tell."""
    said = WaiverFact("Invented Reviewer", "reviewer", "Both ends are on the film.")
    rows = tuple(
        replace(each, verdict="judged", judgement=said, reason="The camera was behind the sleeve.")
        if each.code == "ends-seen"
        else each
        for each in facts.requirements
    )
    # The example's pay item that looks like a formula is for the tests.
    paid = tuple(replace(e, pay_item=e.pay_item.removeprefix("=")) for e in facts.quantities)
    return replace(facts, requirements=rows, quantities=paid)


def _report(made: Example) -> None:
    paths = evidence_paths(made.facts)
    record = digest(record_json(made.facts, paths))
    pdf = pypdfium2.PdfDocument(report_pdf(made.facts, made.files, paths, record))
    texts = [page.get_textpage().get_text_range() for page in pdf]
    for name, words in PAGES.items():
        number = next(n for n, text in enumerate(texts) if _begins(text, words))
        _draw(pdf, number, name)
    grey = [next(n for n, text in enumerate(texts) if _begins(text, words)) for words in GREY]
    _draw_grey(pdf, list(dict.fromkeys(grey)), "report-grey.png")


def _begins(text: str, words: str) -> bool:
    return any(line.startswith(words) for line in text.splitlines())


def _statement(facts: CloseoutFacts) -> None:
    lines = [
        StatementLine(
            run, ref, attempt, facts.repair.work_order, closed, answer, answered, facts.quantities
        )
        for ref, run, attempt, closed, answer, answered in MONTH
    ]
    whose = StatementOf(
        "2031-03", True, Rule.MONTH, facts.repair.customer_name, facts.repair.customer_code,
        facts.contractor_name, None, invented=True,
    )  # fmt: skip
    made = statement(whose, lines)
    table = sha256(statement_csv(made)).hexdigest()
    _draw(pypdfium2.PdfDocument(statement_pdf(made, table)), 0, "statement.png")


def _draw(pdf: pypdfium2.PdfDocument, number: int, name: str) -> None:
    """Write a page with few colours, so that the picture is small."""
    drawn: Image.Image = pdf[number].render(scale=SCALE).to_pil()
    drawn.quantize(COLOURS, dither=Image.Dither.NONE).save(HERE / name, optimize=True)


def _draw_grey(pdf: pypdfium2.PdfDocument, numbers: list[int], name: str) -> None:
    """Write the upper part of pages beside each other, in sixteen greys."""
    pages = [pdf[number].render(scale=GREY_SCALE).to_pil().convert("L") for number in numbers]
    width, height = sum(page.width for page in pages), int(pages[0].height * UPPER)
    beside = Image.new("L", (width, height), 255)
    left = 0
    for page in pages:
        beside.paste(page, (left, 0))
        left += page.width
    beside.quantize(16, dither=Image.Dither.NONE).save(HERE / name, optimize=True)


if __name__ == "__main__":
    main()
