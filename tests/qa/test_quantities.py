"""What the client pays by, as a table."""

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.quantities import HEADER, quantities_csv
from qa.domain.closeout import CloseoutFacts, QuantityFact
from tests.qa.closeout_example import example


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory) -> CloseoutFacts:
    """One finished repair."""
    return example(tmp_path_factory.mktemp("files"), photos=1).facts


def rows(facts: CloseoutFacts) -> list[dict[str, str]]:
    """Read the table as a spreadsheet would."""
    return list(csv.DictReader(io.StringIO(quantities_csv(facts).decode(), newline="")))


def test_each_line_can_stand_alone(facts: CloseoutFacts) -> None:
    """A line cut out of hundreds still names its repair, work order and run."""
    first = rows(facts)[1]

    assert tuple(first) == HEADER
    assert first["repair_ref"] == "R-20417"
    assert first["closed_at"] == "2031-03-13T19:54:00Z"
    assert (first["pay_item"], first["unit"], first["quantity"]) == ("4.02", "m", "62.40")


def test_lines_end_as_rfc_4180_wants(facts: CloseoutFacts) -> None:
    """Each record ends in carriage return and line feed (RFC 4180, section 2)."""
    assert quantities_csv(facts).count(b"\r\n") == 1 + len(facts.quantities)


def test_a_spreadsheet_runs_no_text_as_a_formula(facts: CloseoutFacts) -> None:
    """A pay item that begins with an equals sign gets an apostrophe in front."""
    assert rows(facts)[2]["pay_item"] == "'=4.90"


def test_a_deduction_stays_a_number(facts: CloseoutFacts) -> None:
    """A negative quantity is a number, not a formula."""
    line = QuantityFact("9.1", "Deduction", "each", Decimal("-1.00"))

    assert rows(replace(facts, quantities=(line,)))[0]["quantity"] == "-1.00"


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0")))
def test_any_words_come_back(facts: CloseoutFacts, words: str) -> None:
    """Commas, quotes and line breaks survive; only a guarding apostrophe may be added."""
    line = QuantityFact("1", words, "m", Decimal(1))

    assert rows(replace(facts, quantities=(line,)))[0]["description"] in (words, f"'{words}")
