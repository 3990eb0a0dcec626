"""Which month pays what: each accepted attempt once over all months, and a past month stays."""

import csv
import io
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from hashlib import sha256

import pikepdf
import pypdf
import pytest
from dateutil import tz
from hypothesis import given
from hypothesis import strategies as st

from qa.closeout.report.statement import statement_pdf
from qa.closeout.statement import statement_csv
from qa.domain.closeout import QuantityFact
from qa.domain.months import month_at, month_begun, month_over, month_read, reach_of
from qa.domain.statement import (
    ACCEPTED,
    ClosedAttempt,
    Rule,
    Statement,
    StatementLine,
    StatementOf,
    answer_in,
    statement,
)

ZONES = ("America/Chicago", "Europe/Berlin", "Pacific/Kiritimati", "Etc/GMT+12", "Asia/Kathmandu")
MINUTES_LONG = 290_000
MOMENT = st.integers(0, MINUTES_LONG).map(
    lambda minutes: datetime(2030, 11, 20, tzinfo=UTC) + timedelta(minutes=minutes)
)
"""Half a year, over which clocks change twice."""
MONTHS = [date(2030, 10, 1), date(2030, 11, 1), date(2030, 12, 1)] + [
    date(2031, month, 1) for month in range(1, 9)
]
MARCH, APRIL = date(2031, 3, 1), date(2031, 4, 1)


@st.composite
def attempts(draw: st.DrawFn) -> ClosedAttempt:
    """Draw a closed attempt; its answer may come the same minute, months later, or never."""
    closed, zone = draw(MOMENT), draw(st.sampled_from(ZONES))
    answer = draw(st.sampled_from(["accepted", "returned", ""]))
    if not answer:
        return ClosedAttempt(closed, zone)
    # A clock may have been set back between the two.
    later = draw(st.timedeltas(timedelta(days=-3), timedelta(days=80)))
    return ClosedAttempt(
        closed, zone, answer, min(closed + later, datetime(2031, 8, 20, tzinfo=UTC))
    )


@given(attempts())
def test_each_accepted_attempt_is_paid_once_over_all_months(closed: ClosedAttempt) -> None:
    """Whenever it was closed and answered; a returned or unanswered one is never paid."""
    told = {month: answer_in(closed, month) for month in MONTHS}
    paid = [month for month, answer in told.items() if answer == ACCEPTED]

    if closed.answer == ACCEPTED:
        assert closed.answered_at is not None
        # The day by another library's reading of the zone.
        there = closed.answered_at.astimezone(tz.gettz(closed.time_zone))
        assert paid == [date(there.year, there.month, 1)]
    else:
        assert paid == []


@given(attempts())
def test_what_was_closed_stands_in_its_month(closed: ClosedAttempt) -> None:
    """Closed in a month it stands there, paid or not, and unpaid in no other one."""
    own = month_at(closed.closed_at, closed.time_zone)
    unpaid = {
        m for m in MONTHS if (found := answer_in(closed, m)) is not None and found != ACCEPTED
    }

    assert unpaid <= {own}
    early = closed.answered_at is not None and closed.answered_at < closed.closed_at
    assert early or answer_in(closed, own) is not None


@given(attempts())
def test_a_month_that_is_over_does_not_change(closed: ClosedAttempt) -> None:
    """What the client says after a month ended changes nothing in it."""
    unanswered = replace(closed, answer="", answered_at=None)
    for month in MONTHS:
        if closed.answered_at and month_at(closed.answered_at, closed.time_zone) > month:
            assert answer_in(closed, month) == answer_in(unanswered, month)


@given(st.lists(attempts(), max_size=12))
def test_the_sums_of_all_months_are_what_was_accepted(all_of_them: list[ClosedAttempt]) -> None:
    """Added up over the months, each quantity is there once."""
    quantity = Decimal("62.40")
    paid = [
        each.quantity for month in MONTHS for each in a_month(month, all_of_them, quantity).to_pay
    ]

    accepted = sum(each.answer == ACCEPTED for each in all_of_them)
    assert sum(paid, Decimal(0)) == accepted * quantity


def a_month(
    month: date, closed: list[ClosedAttempt], quantity: Decimal, stands_at: datetime | None = None
) -> Statement:
    """Return a month's statement of attempts that have one pay item each."""
    whose = StatementOf(
        f"{month:%Y-%m}", True, Rule.MONTH, "Quillhaven Drainage Board", "QDB",
        "Lantern Pipe Repair", stands_at, invented=True,
    )  # fmt: skip
    return statement(
        whose,
        [
            StatementLine(
                "RUN-1", f"R-{number}", 1, "WO-1", each.closed_at.date(), answer,
                None if not answer or each.answered_at is None else each.answered_at.date(),
                (QuantityFact("4.02", "Sleeve", "m", quantity),),
            )
            for number, each in enumerate(closed)
            if (answer := answer_in(each, month)) is not None
        ],
    )  # fmt: skip


CLOSED_IN_MARCH = ClosedAttempt(
    datetime(2031, 3, 28, 15, tzinfo=UTC), "Europe/Berlin",
    "accepted", datetime(2031, 4, 2, 9, tzinfo=UTC),
)  # fmt: skip


def test_closed_in_march_and_accepted_in_april() -> None:
    """March has it as not answered, April as to pay; May knows nothing of it."""
    assert answer_in(CLOSED_IN_MARCH, MARCH) == ""
    assert answer_in(CLOSED_IN_MARCH, APRIL) == ACCEPTED
    assert answer_in(CLOSED_IN_MARCH, date(2031, 5, 1)) is None


def test_returned_in_april_it_was_not_answered_in_march() -> None:
    """As it stood at the end of March; in April it is neither closed nor paid."""
    returned = replace(CLOSED_IN_MARCH, answer="returned")

    assert answer_in(returned, MARCH) == ""
    assert answer_in(returned, APRIL) is None


@pytest.mark.parametrize(
    ("zone", "month"), [("Europe/Berlin", APRIL), ("America/Chicago", MARCH), ("UTC", MARCH)]
)
def test_the_month_is_the_sites(zone: str, month: date) -> None:
    """At 23:30 UTC on the last of March it is April in the east."""
    moment = datetime(2031, 3, 31, 23, 30, tzinfo=UTC)

    assert month_at(moment, zone) == month


@given(MOMENT, st.sampled_from(ZONES))
def test_a_month_reaches_over_all_its_moments(moment: datetime, zone: str) -> None:
    """What lies in a month by any calendar is looked at; a month that is over gets nothing new."""
    month = month_at(moment, zone)
    begins, ends = reach_of(month)

    assert begins <= moment < ends
    assert not month_over(month, now=moment)


@pytest.mark.parametrize("text", ["0001-01", "9999-12"])
def test_the_first_and_the_last_month_can_be_asked_for(text: str) -> None:
    """No calendar ends by an error."""
    begins, ends = reach_of(month_read(text))

    assert begins < ends
    assert month_over(month_read(text), now=datetime(2031, 4, 1, tzinfo=UTC)) is (text < "2031")


def test_a_month_is_over_when_it_is_over_everywhere() -> None:
    """The last place on Earth begins its first of April at noon UTC."""
    assert not month_over(MARCH, now=datetime(2031, 4, 1, 11, 59, tzinfo=UTC))
    assert month_over(MARCH, now=datetime(2031, 4, 1, 12, 0, tzinfo=UTC))


def pdf_of(made: Statement) -> bytes:
    """Make the letter."""
    return statement_pdf(made, sha256(statement_csv(made)).hexdigest())


def text_of(pdf: bytes) -> str:
    """Read a PDF as an outside reader does, with single spaces."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    words = " ".join(page.extract_text() for page in pages)
    return " ".join(words.replace("\N{NO-BREAK SPACE}", " ").split())


def test_the_letter_of_a_month_says_by_which_rule_it_counts() -> None:
    """A month that is over names no moment, so that it is the same whenever it is made."""
    text = text_of(pdf_of(a_month(APRIL, [CLOSED_IN_MARCH], Decimal("1.20"))))

    for words in (
        "Statement of quantities", "Month 2031-04", "whenever it was closed",
        "does not change any more",
        "accepted 2031-04-02", "over all months each accepted repair is paid once", "1.20",
    ):  # fmt: skip
        assert words in text
    assert "index.csv" not in text
    assert "collected" not in text


def test_a_month_that_runs_says_as_of_when() -> None:
    """It may change yet, and says so."""
    at = datetime(2031, 4, 14, 12, 30, tzinfo=UTC)
    text = text_of(pdf_of(a_month(APRIL, [CLOSED_IN_MARCH], Decimal("1.20"), at)))

    assert "2031-04-14 12:30 UTC, month not over" in text


def test_a_month_to_come_is_not_called_not_over() -> None:
    """It has not begun anywhere."""
    at = datetime(2031, 2, 14, 12, 30, tzinfo=UTC)
    text = text_of(pdf_of(a_month(APRIL, [], Decimal("1.20"), at)))

    assert "2031-02-14 12:30 UTC, month not begun" in text


def test_the_letter_is_archival_tagged_and_the_same_each_time() -> None:
    """As the report: qpdf finds no fault, PDF/A-2b is claimed, tables are tagged."""
    made = a_month(MARCH, [CLOSED_IN_MARCH], Decimal("1.20"))
    content = pdf_of(made)

    assert pdf_of(a_month(MARCH, [CLOSED_IN_MARCH], Decimal("1.20"))) == content
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert pdf.check_pdf_syntax() == []
        with pdf.open_metadata(set_pikepdf_as_editor=False) as told:
            assert told.pdfa_status == "2B"
        assert pdf.Root.MarkInfo.Marked
        assert Counter(str(e.S) for e in _elements(pdf.Root.StructTreeRoot.K))["/Table"] > 1


def _elements(node: pikepdf.Object) -> list[pikepdf.Object]:
    inner = [child for child in node.get("/K", []) if isinstance(child, pikepdf.Dictionary)]
    return [node, *(found for child in inner for found in _elements(child))]


def test_each_line_of_the_table_names_its_rule() -> None:
    """Tables of several statements that were put together can still be told apart."""
    table = statement_csv(a_month(APRIL, [CLOSED_IN_MARCH], Decimal("1.20"))).decode()
    rows = list(csv.DictReader(io.StringIO(table, newline="")))

    assert [(row["line"], row["of"], row["rule"], row["quantity"]) for row in rows] == [
        ("repair", "2031-04", "accepted in the month", "1.20"),
        ("sum", "2031-04", "accepted in the month", "1.20"),
    ]
    assert rows[0]["answered_on"] == "2031-04-02"


@pytest.mark.parametrize(
    ("now", "begun"),
    [
        (datetime(2031, 2, 28, 9, 59, tzinfo=UTC), False),
        (datetime(2031, 2, 28, 10, 0, tzinfo=UTC), True),  # 1 March at UTC+14, the first place
        (datetime(2031, 4, 2, tzinfo=UTC), True),
    ],
)
def test_a_month_begins_where_the_day_begins_first(now: datetime, begun: bool) -> None:
    """A statement of a month to come says that it has not begun."""
    assert month_begun(date(2031, 3, 1), now=now) is begun
