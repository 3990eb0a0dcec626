"""A plan is asked for on a page, watched, and called off; faults stand where they were typed."""

from datetime import date, timedelta

import pytest

from dispatch.models import Plan, PlanPrices, PlanRun
from dispatch.pages.plans.plan_words import days_words
from dispatch.services.plan_ask import FURTHEST_DAYS
from duework.runner import run_due
from repairs.domain.problem import Refused
from repairs.models import Account
from tests.callers import API, signed_in
from tests.dispatch.plan_pages import sent, typed, went
from tests.dispatch.plan_rows import Company, a_company, ask, planned
from tests.factories import now
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import PlanFactory, PlanRunFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


@pytest.mark.parametrize("who", ["reviewer", "crew_lead", "client_user", "service_account"])
def test_only_the_dispatcher_and_the_administrator_see_plans(
    who: str, request: pytest.FixtureRequest
) -> None:
    """Others are turned away, in words, and their pages lead to no plans."""
    account = request.getfixturevalue(who)

    assert "Not for your role" in look(account, "/plans", status=403).text
    assert "/plans" not in look(account, "/plans", status=403).links


def test_an_administrator_looks_and_cannot_ask(administrator: Account) -> None:
    """The list is there, the form is not."""
    PlanFactory(label="invented week")

    page = look(administrator, "/plans")

    assert "invented week" in page.text
    assert "Ask for a plan" not in page.text
    assert "/plans" in page.links


def test_asked_for_it_is_made_and_leads_to_its_plan(company: Company, dispatcher: Account) -> None:
    """The form leads to the run, whose page loads itself again until the plan is there."""
    watch = went(dispatcher, "/plans", typed(company, label="market day"))

    waiting = client_of(dispatcher).get(watch)
    assert "0 %" in page_of(waiting).text
    assert '<noscript><meta http-equiv="refresh"' in waiting.content.decode()
    assert "Plan of" in look(dispatcher, "/plans").text
    run_due()

    done = page_of(client_of(dispatcher).get(watch))
    plan = Plan.objects.get()
    assert f"/plans/{plan.pk}" in done.links
    assert "4 repairs planned" in done.text
    assert (plan.starts_on, plan.days, plan.label) == (company.tomorrow, 1, "market day")
    assert plan.changes == []


def test_days_from_and_to_are_both_planned(company: Company, dispatcher: Account) -> None:
    """From tomorrow to the day after tomorrow are two days."""
    last = company.tomorrow + timedelta(days=1)

    went(dispatcher, "/plans", typed(company, ends_on=last.isoformat()))

    assert PlanRun.objects.get().days == 2


def test_another_price_counts_in_this_plan_only(company: Company, dispatcher: Account) -> None:
    """A promise broken costs 50 minutes here; the company's prices stay."""
    went(dispatcher, "/plans", {**typed(company), "price-change_s": "50"})

    run = PlanRun.objects.get()
    assert run.changes == [{"kind": "price", "price": "change_s", "value": 3000}]
    assert not PlanPrices.objects.exists()
    assert "another day costs 50 min of driving" in look(dispatcher, f"/plan-runs/{run.pk}").text


def test_a_price_the_company_has_set_stands_in_the_box(
    company: Company, dispatcher: Account
) -> None:
    """Left as it is, it is no supposition."""
    PlanPrices.objects.create(
        prices={"change_s": 4030}, set_by=dispatcher, set_at="2026-01-01T00:00:00Z"
    )
    page = look(dispatcher, "/plans")
    assert page.typed["price-change_s"] == "67.1667"

    went(dispatcher, "/plans", {**typed(company), "price-change_s": page.typed["price-change_s"]})

    assert PlanRun.objects.get().changes == []


@pytest.mark.parametrize(
    ("box", "value", "words"),
    [
        ("starts_on", "soon", "Not a day: write it such as 2026-11-30."),
        ("starts_on", "", "Say which day"),
        ("ends_on", "2020-01-01", "14 days at most"),
        ("ends_on", "2999-01-01", "14 days at most"),
        ("search_s", "0", "Expected a whole number from 1 to 600."),
        ("search_s", "x", "Expected a whole number from 1 to 600."),
        ("price-change_s", "dear", "Expected a number from 0 to 1666666."),
        ("price-c_s", "99999999", "Expected a number from 0 to 1666666."),
        (
            "price-c_s",
            "20000",
            "'Leaving out priority B' must be more than 'Leaving out priority C'",
        ),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    company: Company, dispatcher: Account, box: str, value: str, words: str
) -> None:
    """Nothing is begun; the other boxes keep their words too."""
    body = typed(company, label="<b>kept</b>", **{box: value})

    page = sent(dispatcher, "/plans", body, status=422)

    assert words in page.text
    assert page.typed[box] == value
    assert page.typed["label"] == "<b>kept</b>"
    assert not PlanRun.objects.exists()


def test_days_that_are_over_are_not_planned(company: Company, dispatcher: Account) -> None:
    """The service's word stands beside the box."""
    body = typed(company, starts_on="2020-01-01", ends_on="2020-01-01")

    page = sent(dispatcher, "/plans", body, status=422)

    assert "expected days that are not over" in page.text


@pytest.mark.parametrize("first", ["9999-12-31", "9999-12-20", "2999-01-01"])
def test_days_nobody_knows_anything_of_are_not_planned(
    company: Company, dispatcher: Account, first: str
) -> None:
    """The last days of the calendar too, on the page and by the API; what was typed stays."""
    page = sent(dispatcher, "/plans", typed(company, starts_on=first, ends_on=first), status=422)
    answer = signed_in(dispatcher).post(f"{API}/plans", {"starts_on": first, "days": 14})

    assert f"Found {first}, expected days that are not over, the first of them by" in page.text
    assert (page.typed["starts_on"], page.typed["ends_on"]) == (first, first)
    assert answer.status_code == 422
    assert [(each["field"], each["found"]) for each in answer.json()["errors"]] == [
        ("starts_on", first)
    ]
    assert not PlanRun.objects.exists()


def test_a_year_ahead_may_be_planned_and_not_a_day_more(company: Company) -> None:
    """From yesterday, of which an evening shift may still stand, to a year from now."""
    present = now()
    furthest = present.date() + timedelta(days=FURTHEST_DAYS)

    assert ask(company, starts_on=present.date() - timedelta(days=1), now=present)
    assert ask(company, starts_on=furthest, now=present)
    for day, days in [(furthest + timedelta(days=1), 1), (present.date() - timedelta(days=2), 1)]:
        with pytest.raises(Refused):
            ask(company, starts_on=day, days=days, now=present)


def test_days_of_another_year_name_it() -> None:
    """In this year a day is enough; over new year both ends name theirs."""
    year = now().year

    assert days_words(date(year, 3, 2), 1) == f"{date(year, 3, 2):%a} 2 Mar"
    assert days_words(date(year + 1, 3, 2), 1).endswith(f" 2 Mar {year + 1}")
    assert days_words(date(year, 12, 31), 2) == (
        f"{date(year, 12, 31):%a} 31 Dec {year} to {date(year + 1, 1, 1):%a} 1 Jan {year + 1}"
    )


def test_a_second_one_of_the_same_day_says_who_makes_the_first(
    company: Company, dispatcher: Account
) -> None:
    """Refused with the reason, a way to the first, and what was typed."""
    run = ask(company)

    page = sent(dispatcher, "/plans", typed(company, label="again"), status=409)

    assert "is being made (0 %)" in page.text
    assert dispatcher.display_name in page.text
    assert f"/plan-runs/{run.pk}" in page.links
    assert page.typed["label"] == "again"


def test_a_run_is_called_off(company: Company, dispatcher: Account) -> None:
    """Before it began: there is no plan, and the page says what to do."""
    run = ask(company)

    watch = went(dispatcher, f"/plan-runs/{run.pk}", {})

    page = look(dispatcher, watch)
    assert "called off before it began" in page.text
    assert "There is no plan from this" in page.text
    assert "/plans" in page.links


def test_an_administrator_watches_and_cannot_call_off(administrator: Account) -> None:
    """No button, and the door is closed."""
    run = PlanRunFactory(state=PlanRun.SEARCHING, percent=40, said="<i>searching</i>")

    page = look(administrator, f"/plan-runs/{run.pk}")

    assert "40 %" in page.text
    assert "<i>searching</i>" in page.text
    assert "Call it off" not in page.text
    assert client_of(administrator).post(f"/plan-runs/{run.pk}").status_code == 403


def test_the_list_says_how_many_are_served_and_left_out(
    dispatcher: Account,
) -> None:
    """One crew has room for two of three."""
    plan = planned(a_company(dispatcher, crews=1, repairs=3))

    page = look(dispatcher, "/plans")

    assert f"/plans/{plan.pk}" in page.links
    assert "2 and 1 left out" in page.text
    assert "nothing supposed" in page.text
