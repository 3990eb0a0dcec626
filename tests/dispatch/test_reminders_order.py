"""What an order asks for: the window it may be worked in, the promised day, the warranty."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.reminder import Reminder, Rung, ask
from dispatch.domain.reminders_order import TABLE, OrderFacts
from dispatch.domain.terms import Terms, months_after, term_faults, terms_from

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOTHING = OrderFacts(
    not_before=None,
    not_after=None,
    promised_until=None,
    planned_until=None,
    arrived=False,
    work_done=False,
    left=False,
    warranty_ends=None,
    promise_lead=2 * DAY,
    warranty_lead=30 * DAY,
)


def asked(**known: object) -> dict[str, Reminder]:
    """Return what an order asks for, by code."""
    facts = replace(NOTHING, **known)  # type: ignore[arg-type]
    return {each.code: each for each in ask(TABLE, facts, NOON)}


def test_an_order_that_says_nothing_asks_for_nothing() -> None:
    """No window, no promise, no acceptance."""
    assert asked() == {}


def test_the_crew_hears_that_its_window_closes() -> None:
    """An hour ahead while it is there; when it has left nobody needs to know."""
    found = asked(not_after=NOON, arrived=True)["window_closing"]

    assert (found.due_at, found.useful_until) == (NOON - HOUR, NOON)
    assert found.to is Rung.CREW_LEAD
    assert asked(not_after=NOON, arrived=True, left=True, work_done=True) == {}


def test_the_dispatcher_hears_of_a_window_nobody_is_planned_in() -> None:
    """A plan that ends inside the window is kept silent about; one that ends after it is not."""
    assert asked(not_after=NOON)["window_unused"].to is Rung.DISPATCHER
    assert asked(not_after=NOON)["window_unused"].due_at == NOON - DAY
    assert "window_unused" in asked(not_after=NOON, planned_until=NOON + HOUR)
    assert asked(not_after=NOON, planned_until=NOON - HOUR) == {}


def test_a_promise_is_at_risk_until_a_plan_keeps_it() -> None:
    """Two days before the end of the promised day."""
    found = asked(promised_until=NOON)["promise_at_risk"]

    assert (found.due_at, found.useful_until) == (NOON - 2 * DAY, NOON)
    assert asked(promised_until=NOON, planned_until=NOON) == {}
    assert asked(promised_until=NOON, work_done=True) == {}
    assert "promise_at_risk" in asked(promised_until=NOON, planned_until=NOON + HOUR)


def test_the_warranty_inspection_comes_before_the_warranty_ends() -> None:
    """Thirty days ahead, and as long of use after it."""
    found = asked(warranty_ends=NOON)["warranty_inspection_due"]

    assert (found.due_at, found.useful_until) == (NOON - 30 * DAY, NOON + 30 * DAY)


@given(day=st.dates(date(2000, 1, 1), date(2100, 1, 1)), months=st.integers(0, 240))
def test_months_are_counted_as_an_outside_library_counts_them(day: date, months: int) -> None:
    """The 31st and leap days included: `dateutil` takes the last day of a shorter month."""
    assert months_after(day, months) == day + relativedelta(months=months)


def test_a_contract_may_set_its_own_terms() -> None:
    """What it leaves open is the usual."""
    table = {"answer_days": {"value": 30, "source": "invented for tests"}}

    assert list(term_faults(table)) == []
    assert terms_from(table) == replace(Terms(), answer_days=30)


def test_an_answer_is_expected_so_many_days_after_the_package() -> None:
    """To the minute it was ready, fourteen days where the contract says nothing."""
    assert Terms().answer_by(NOON) == NOON + 14 * DAY
    assert Terms(answer_days=0).answer_by(NOON) == NOON


@pytest.mark.parametrize(
    ("name", "entry", "field"),
    [
        ("tea_breaks", {"value": 2, "source": "x"}, "terms.tea_breaks"),
        ("answer_days", 14, "terms.answer_days"),
        ("answer_days", {"value": -1, "source": "x"}, "terms.answer_days.value"),
        ("answer_days", {"value": True, "source": "x"}, "terms.answer_days.value"),
        ("answer_days", {"value": 366, "source": "x"}, "terms.answer_days.value"),
        ("answer_days", {"value": 1.5, "source": "x"}, "terms.answer_days.value"),
        ("answer_days", {"value": 14}, "terms.answer_days.source"),
    ],
)
def test_a_term_that_cannot_be_read_is_told_by_its_field(
    name: str, entry: object, field: str
) -> None:
    """Whole days and months, each with its source."""
    assert [fault.field for fault in term_faults({name: entry})] == [field]
