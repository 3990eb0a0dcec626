"""What if: supposed on a page, made, and put beside the plan with each difference's cause."""

from datetime import timedelta
from typing import Any

import pytest

from dispatch.models import Plan, PlanRun
from dispatch.pages.plans.plan_words import day_words
from duework.runner import run_due
from repairs.models import Account
from tests.dispatch.plan_pages import page_address, sent, went
from tests.dispatch.plan_rows import Company, a_company, ask, planned
from tests.factories import RepairFactory
from tests.page_reader import client_of, look
from tests.proof_factories import PlanFactory

pytestmark = pytest.mark.django_db
BOXES = {"search_s": "1"}


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def supposed(plan: Plan, account: Account, **typed: Any) -> list[dict[str, Any]]:
    """Send the form, and return what the run supposes."""
    went(account, page_address(plan, "/what-if"), {**BOXES, **typed})
    return list(PlanRun.objects.order_by("-asked_at")[0].changes)


def test_everything_that_may_be_supposed_has_its_boxes(
    company: Company, dispatcher: Account
) -> None:
    """A late crew, one at home, a broken packer, an urgent repair, rain, a price: all at once."""
    plan = planned(company)
    on = plan.starts_on.isoformat()
    packer = company.crews[1].equipment.get(kind="packer")
    urgent = str(company.repairs[0].pk)

    found = supposed(
        plan,
        dispatcher,
        late_crew="CREW-0",
        late_on=on,
        late_min="45",
        away_crew="CREW-1",
        away_on=on,
        packer=packer.serial,
        urgent=urgent,
        idle_on=on,
        idle_where="rain",
        price="change_s",
        price_min="50",
    )

    assert found == [
        {"kind": "crew late", "crew": "CREW-0", "on": on, "minutes": 45},
        {"kind": "crew away", "crew": "CREW-1", "on": on},
        {"kind": "packer out", "serial": packer.serial},
        {"kind": "urgent", "repair": urgent},
        {"kind": "no work", "on": on, "low_flow": True},
        {"kind": "price", "price": "change_s", "value": 3000},
    ]


def test_nobody_works_anywhere_names_the_sites_of_the_plan(
    company: Company, dispatcher: Account
) -> None:
    """A storm: each site of a repair it knows."""
    plan = planned(company)

    found = supposed(plan, dispatcher, idle_on=plan.starts_on.isoformat(), idle_where="everywhere")

    assert set(found[0]["sites"]) == {str(each.run.site_id) for each in company.repairs}


def test_all_boxes_open_it_is_planned_again(company: Company, dispatcher: Account) -> None:
    """Nothing is supposed, and the plan comes from this one."""
    plan = planned(company)

    assert supposed(plan, dispatcher) == []
    assert PlanRun.objects.order_by("-asked_at")[0].derived_from == plan


@pytest.mark.parametrize(
    ("typed", "box", "words"),
    [
        ({"late_crew": "CREW-0"}, "late_min", "Say this, too"),
        ({"late_crew": "CREW-0", "late_min": "0"}, "late_min", "a whole number from 1 to 1440."),
        ({"late_crew": "CREW-9", "late_min": "5"}, "late_min", "Choose one of the crews."),
        ({"packer": "<b>PK</b>"}, "label", "Choose one of those that are offered."),
        ({"price": "change_s"}, "price_min", "Say this, too"),
        (
            {"price": "a_s", "price_min": "1"},
            "price_min",
            "priority A' must be more than 'Leaving out priority B'",
        ),
        ({"search_s": "3600"}, "search_s", "Expected a whole number from 1 to 600."),
        ({"late_min": "45"}, "late_min", "Say this, too"),
        ({"price_min": "50"}, "price_min", "Say this, too"),
        ({"idle_where": "everywhere"}, "label", "Say this, too"),
    ],
)
def test_half_a_supposition_is_named_and_kept(
    company: Company, dispatcher: Account, typed: dict[str, str], box: str, words: str
) -> None:
    """No run is begun; what was typed is still there."""
    plan = planned(company)
    body = {**BOXES, "late_on": plan.starts_on.isoformat(), "label": "kept", **typed}

    page = sent(dispatcher, page_address(plan, "/what-if"), body, status=422)

    assert words in page.text
    assert page.typed[box] == body.get(box, "")
    assert page.typed["label"] == "kept"
    assert PlanRun.objects.count() == 1


def test_a_day_without_its_crew_is_named(company: Company, dispatcher: Account) -> None:
    """The second day was chosen, and nobody for it: nothing is dropped in silence."""
    plan = planned(company, days=2)
    second = (plan.starts_on + timedelta(days=1)).isoformat()

    page = sent(
        dispatcher, page_address(plan, "/what-if"), {**BOXES, "away_on": second}, status=422
    )

    assert "Say this, too" in page.text
    assert PlanRun.objects.count() == 1


def test_urgent_may_be_what_can_be_planned(company: Company, dispatcher: Account) -> None:
    """A repair that nobody prescribed is not offered, and not taken."""
    bare = RepairFactory()
    plan = planned(company)
    address = page_address(plan, "/what-if")

    offered = client_of(dispatcher).get(address).content.decode()
    page = sent(dispatcher, address, {**BOXES, "urgent": str(bare.pk)}, status=422)

    assert f'value="{company.repairs[0].pk}"' in offered
    assert f'value="{bare.pk}"' not in offered
    assert "Choose one of those that are offered." in page.text


def test_while_another_is_made_it_says_so(company: Company, dispatcher: Account) -> None:
    """Refused, with a way to the one that runs."""
    plan = planned(company)
    run = ask(company)

    page = sent(dispatcher, page_address(plan, "/what-if"), BOXES, status=409)

    assert "is being made" in page.text
    assert f"/plan-runs/{run.pk}" in page.links


def test_several_stand_side_by_side_with_causes(company: Company, dispatcher: Account) -> None:
    """Each crew away in turn: figures against the first, and each difference with its cause."""
    plan = planned(company)
    on = plan.starts_on.isoformat()
    for crew in company.crews:
        supposed(plan, dispatcher, away_crew=crew.code, away_on=on, label=f"no {crew.code}")
        run_due()
    others = list(Plan.objects.filter(derived_from=plan).order_by("planned_at"))
    query = "&".join(f"plan={each.pk}" for each in [plan, *others])

    page = look(dispatcher, f"/plans/beside?{query}")

    assert "Repairs served 4" in page.text
    assert page.text.count("2 less") >= 2
    assert "What is different in B" in page.text
    assert "What is different in C" in page.text
    assert (
        f"supposed: crew {company.crews[0].code} does not go out on {day_words(plan.starts_on)}"
        in page.text
    )
    gone = f"{company.crews[0].code} does not go out on {plan.starts_on:%a %d %b}"
    assert f"had to: its crew does not go out then (crew {gone})" in page.text
    assert f"{company.crews[0].code}/" not in page.text
    watch = client_of(dispatcher).get(f"/plan-runs/{others[0].run.pk}").content.decode()
    assert f"/plans/beside?plan={plan.pk}&amp;plan={others[0].pk}" in watch
    assert (
        f'name="plan" value="{others[0].pk}"'
        in client_of(dispatcher).get(page_address(plan)).content.decode()
    )


@pytest.mark.parametrize(("days", "warned"), [(1, False), (2, True)])
def test_plans_of_different_days_are_compared_with_a_warning(
    dispatcher: Account, days: int, warned: bool
) -> None:
    """A day and two days: the figures do not measure the same."""
    one, other = PlanFactory(), PlanFactory(days=days)

    page = look(dispatcher, f"/plans/beside?plan={one.pk}&plan={other.pk}")

    assert ("These plans are of different days" in page.text) is warned


def test_plans_that_are_none_are_not_compared(dispatcher: Account) -> None:
    """No id, a wrong id, an unknown one; nothing picked leads to the list."""
    known = PlanFactory()

    look(dispatcher, "/plans/beside?plan=x", status=404)
    look(
        dispatcher,
        f"/plans/beside?plan={known.pk}&plan=00000000-0000-4000-8000-000000000000",
        status=404,
    )
    assert client_of(dispatcher).get("/plans/beside")["Location"] == "/plans"
