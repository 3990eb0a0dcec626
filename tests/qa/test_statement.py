"""The statement: what was accepted is summed exactly, what was not stands apart; both archival."""

import csv
import io
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from hashlib import sha256

import pikepdf
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.report.statement import statement_pdf
from qa.closeout.statement import statement_csv
from qa.domain.closeout import CloseoutFacts, QuantityFact
from qa.domain.collection import Collection, Member
from qa.domain.statement import StatementLine, collected_statement, sums
from tests.qa.closeout_example import example

MADE_AT = datetime(2031, 4, 1, 6, 12, tzinfo=UTC)
QUANTITY = st.decimals("0.01", "999", places=2) | st.integers(1, 50).map(Decimal)
ITEM = st.builds(
    QuantityFact, st.sampled_from(["4.02", "4.11"]), st.sampled_from(["Cleaning", "Sleeve"]),
    st.sampled_from(["m", "each"]), QUANTITY,
)  # fmt: skip


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory) -> CloseoutFacts:
    """Return one closed repair."""
    return example(tmp_path_factory.mktemp("files"), photos=1).facts


def member(facts: CloseoutFacts, ref: str, attempt: int, answer: str) -> Member:
    """Return a closed attempt with the client's answer."""
    repair = replace(facts.repair, ref=ref, attempt=attempt)
    return Member(replace(facts, repair=repair), ref, f"{ref}.zip", "ab" * 32, 10, answer)


def collection(*members: Member, invented: bool = True) -> Collection:
    """Return a month of them."""
    return Collection("id", "2031-03", "Quillhaven Drainage Board", "QDB", "Lantern Pipe Repair",
                      members, (), MADE_AT, invented, "", month=True)  # fmt: skip


@pytest.fixture(scope="module")
def month(facts: CloseoutFacts) -> Collection:
    """Return a month: two accepted, one of them at the second attempt; one not answered."""
    return collection(
        member(facts, "R-2", 1, ""),
        member(facts, "R-1", 2, "accepted"),
        member(facts, "R-1", 1, "returned"),
        member(facts, "R-3", 1, "accepted"),
    )


def text_of(pdf: bytes) -> str:
    """Read a PDF as an outside reader does, with single spaces."""
    return " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf)).pages)
                    .replace("\N{NO-BREAK SPACE}", " ").split())  # fmt: skip


def pdf_of(month: Collection) -> bytes:
    """Make the PDF."""
    made = collected_statement(month)
    return statement_pdf(made, sha256(statement_csv(made)).hexdigest())


def test_a_returned_attempt_is_not_paid_and_the_repeated_one_is_paid_once(
    month: Collection,
) -> None:
    """R-1 was returned once: two of four are paid, 2 x 62.40 m are 124.80 m."""
    made = collected_statement(month)

    assert [(each.repair_ref, each.attempt) for each in made.accepted] == [("R-1", 2), ("R-3", 1)]
    assert [(each.repair_ref, each.attempt, each.answer) for each in made.not_accepted] == [
        ("R-1", 1, "returned"), ("R-2", 1, ""),
    ]  # fmt: skip
    assert {each.pay_item: each.quantity for each in made.to_pay}["4.02"] == Decimal("124.80")


@given(st.lists(st.lists(ITEM, max_size=4), max_size=8))
def test_sums_are_exact_and_keep_items_apart(quantities: list[list[QuantityFact]]) -> None:
    """As fractions added by an outside counter; no item is lost, none is mixed with another."""
    day = MADE_AT.date()
    lines = [
        StatementLine("RUN", f"R-{n}", 1, "WO", day, "accepted", day, tuple(each))
        for n, each in enumerate(quantities)
    ]
    wanted: Counter[tuple[str, str, str]] = Counter()
    for each in (one for line in quantities for one in line):
        wanted[each.pay_item, each.words, each.unit] += Fraction(each.quantity)  # type: ignore[assignment]

    found = sums(lines)

    assert {(e.pay_item, e.words, e.unit): Fraction(e.quantity) for e in found} == wanted
    assert all(Decimal(f"{each.quantity:f}") == each.quantity for each in found)


def test_the_table_adds_up_for_whoever_adds_it(month: Collection) -> None:
    """The lines of each part add up to its sums; a spreadsheet runs none of them."""
    rows = list(
        csv.DictReader(io.StringIO(statement_csv(collected_statement(month)).decode(), newline=""))
    )

    for part in ("yes", "no"):
        added: dict[str, Decimal] = {}
        for row in rows:
            if (row["line"], row["to_pay"]) == ("repair", part):
                item = row["pay_item"]
                added[item] = added.get(item, Decimal(0)) + Decimal(row["quantity"])
        said = {
            row["pay_item"]: Decimal(row["quantity"])
            for row in rows
            if (row["line"], row["to_pay"]) == ("sum", part)
        }
        assert added == said
        assert len(said) == 3
    assert {row["answer"] for row in rows if row["to_pay"] == "no" and row["line"] == "repair"} == {
        "returned", "not answered yet",
    }  # fmt: skip
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())


def test_a_day_is_the_sites_own(facts: CloseoutFacts) -> None:
    """Closed at 23:30 in a zone behind UTC: that day, though UTC has the next month already."""
    late = replace(
        facts,
        site=replace(facts.site, time_zone="America/Chicago"),
        closed_at=datetime(2031, 4, 1, 4, 30, tzinfo=UTC),
    )
    (line,) = collected_statement(collection(member(late, "R-1", 1, "accepted"))).accepted

    assert line.closed_on.isoformat() == "2031-03-31"


def test_the_letter_says_who_what_and_how_much(month: Collection) -> None:
    """Read by an outside reader: letterhead, sums, both parts, the hash of the table."""
    text = text_of(pdf_of(month))

    for words in (
        "Month 2031-03", "For Quillhaven Drainage Board", "Lantern Pipe Repair", "To pay",
        "124.80", "Not to pay: returned", "not in the sums to pay",
        "Not to pay: not answered yet", "A returned attempt is never paid",
        "Invented data.", "Statement of a collected package",
        "The monthly statement counts otherwise",
        sha256(statement_csv(collected_statement(month))).hexdigest(),
    ):  # fmt: skip
        assert words in text
    assert text.index("Accepted repairs") < text.index("Not to pay: returned")


def test_an_order_keeps_its_letters(month: Collection) -> None:
    """It begins with a capital, and its number stands as the client writes it."""
    text = text_of(pdf_of(replace(month, month=False, of="WO-2031-Ab")))

    assert "Order WO-2031-Ab For Quillhaven Drainage Board" in text


def test_a_month_with_nothing_accepted_says_so(facts: CloseoutFacts) -> None:
    """Nothing is to pay, and of real data nothing says that it is invented."""
    text = text_of(pdf_of(collection(member(facts, "R-1", 1, ""), invented=False)))

    assert "To pay Accepted by the customer, and so in the sums to pay. Nothing yet." in text
    assert "nvented" not in text


def test_it_is_archival_tagged_and_the_same_each_time(month: Collection) -> None:
    """As the report: qpdf finds no fault, PDF/A-2b is claimed, a screen reader gets tables."""
    content = pdf_of(month)

    assert pdf_of(month) == content
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert pdf.docinfo["/CreationDate"] == "D:20310401061200+00'00'"  # when it was collected
        assert pdf.check_pdf_syntax() == []
        with pdf.open_metadata(set_pikepdf_as_editor=False) as told:
            assert told.pdfa_status == "2B"
        assert pdf.Root.MarkInfo.Marked
        fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
        assert all("/FontFile2" in font.FontDescriptor for font in fonts)
        roles = Counter(str(e.S) for e in _elements(pdf.Root.StructTreeRoot.K))
    assert roles["/Table"] == 5
    assert (roles["/H1"], roles["/H2"]) == (1, 6)


def _elements(node: pikepdf.Object) -> list[pikepdf.Object]:
    inner = [child for child in node.get("/K", []) if isinstance(child, pikepdf.Dictionary)]
    return [node, *(found for child in inner for found in _elements(child))]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_many_repairs_run_over_pages(facts: CloseoutFacts, paper: str) -> None:
    """Sixty repairs: each stands there once, and the head of the table on every page."""
    printed = replace(facts, paper=paper)  # type: ignore[arg-type]
    whole = collection(*(member(printed, f"R-{n:03d}", 1, "accepted") for n in range(60)))
    reader = pypdf.PdfReader(io.BytesIO(pdf_of(whole)))
    texts = [page.extract_text() for page in reader.pages]

    assert len(texts) > 3
    assert all("".join(texts).count(f"R-{n:03d}") == 1 for n in range(60))
    assert all("Quantities" in text for text in texts[:-1])
