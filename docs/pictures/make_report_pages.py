"""Draws the pictures of the closeout report and the statement from an invented repair.

    .venv/bin/python -m docs.pictures.make_report_pages

They are made by the code that makes a client's report. The pictures lie beside this file.
"""

import tempfile
from dataclasses import replace
from datetime import UTC, datetime
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
from qa.domain.collection import Collection, Member
from qa.domain.statement import collected_statement
from tests.qa.closeout_example import Example, example

HERE = Path(__file__).parent
SCALE, COLOURS = 1.3, 48
PAGES = {
    "report-page-1.png": "Closeout report",
    "report-page-3.png": "Pressure",
    "report-requirements.png": "Requirement",
}
"""The first page whose beginning holds the words."""
MONTH = (
    ("R-20417", "RUN-2041-2042", 1, "returned"),
    ("R-20417", "RUN-2041-2042", 2, "accepted"),
    ("R-20419", "RUN-2041-2042", 1, "accepted"),
    ("R-20431", "RUN-2050-2051", 1, "accepted"),
    ("R-20432", "RUN-2050-2051", 1, ""),
)


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


def _begins(text: str, words: str) -> bool:
    return any(line.startswith(words) for line in text.splitlines()[:4])


def _statement(facts: CloseoutFacts) -> None:
    members = tuple(
        Member(
            replace(
                facts,
                repair=replace(facts.repair, ref=ref, attempt=attempt),
                run=replace(facts.run, ref=run),
            ),
            f"{ref}-{attempt}", f"{ref}.zip", "0" * 64, 1, answer,
        )
        for ref, run, attempt, answer in MONTH
    )  # fmt: skip
    month = Collection(
        "invented", "2031-03", facts.repair.customer_name, facts.repair.customer_code,
        facts.contractor_name, members, (), datetime(2031, 4, 1, 6, 12, tzinfo=UTC), True, "",
        month=True,
    )  # fmt: skip
    to_pay = collected_statement(month)
    table = sha256(statement_csv(to_pay)).hexdigest()
    _draw(pypdfium2.PdfDocument(statement_pdf(to_pay, table)), 0, "statement.png")


def _draw(pdf: pypdfium2.PdfDocument, number: int, name: str) -> None:
    """Write a page with few colours, so that the picture is small."""
    drawn: Image.Image = pdf[number].render(scale=SCALE).to_pil()
    drawn.quantize(COLOURS, dither=Image.Dither.NONE).save(HERE / name, optimize=True)


if __name__ == "__main__":
    main()
