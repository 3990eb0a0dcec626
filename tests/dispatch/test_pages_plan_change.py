"""A repair of a plan is put elsewhere, left out or pinned; what cannot be says why."""

from datetime import timedelta

import pytest

from dispatch.models import Pin, Plan, PlanStop
from repairs.models import Account, Repair
from tests.dispatch.plan_pages import page_address, sent, went
from tests.dispatch.plan_rows import Company, a_company, a_waiting_repair, planned
from tests.page_reader import client_of, look

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and one repair, so that one crew is free."""
    return a_company(dispatcher, repairs=1)


def address(plan: Plan, repair: Repair) -> str:
    """Return where a repair of a plan is changed."""
    return page_address(plan, f"/repairs/{repair.pk}")


def only_stop(plan: Plan) -> PlanStop:
    """Return the one stop of a plan."""
    return plan.stops.select_related("crew", "repair").get()


def test_a_stop_is_put_with_another_crew(company: Company, dispatcher: Account) -> None:
    """A new draft holds it there; the old one stays as it was."""
    plan = planned(company)
    stop = only_stop(plan)
    free = next(crew for crew in company.crews if crew != stop.crew)
    form = look(dispatcher, address(plan, stop.repair))
    assert f"Stands now: {stop.crew.name}" in form.text

    there = went(
        dispatcher,
        address(plan, stop.repair),
        {"act": "put", "crew": free.code, "on": plan.starts_on.isoformat(), "number": ""},
    )

    draft = Plan.objects.get(derived_from=plan)
    assert there == page_address(draft)
    assert only_stop(draft).crew == free
    assert only_stop(plan).crew == stop.crew
    assert not Pin.objects.exists()


def test_put_and_kept_it_is_pinned_there(company: Company, dispatcher: Account) -> None:
    """The next plan keeps to it; the page says who pinned it, and takes the pin away."""
    plan = planned(company)
    stop = only_stop(plan)
    free = next(crew for crew in company.crews if crew != stop.crew)
    body = {"act": "put", "crew": free.code, "on": plan.starts_on.isoformat(), "keep": "on"}
    went(dispatcher, address(plan, stop.repair), body)

    page = look(dispatcher, address(plan, stop.repair))
    assert f"Pinned to {free.name}" in page.text
    assert dispatcher.display_name in page.text

    went(dispatcher, address(plan, stop.repair), {"act": "unpin"})
    assert not Pin.objects.exists()


def test_left_out_it_has_no_place_in_the_new_draft(company: Company, dispatcher: Account) -> None:
    """And the page of the draft says that there is room."""
    plan = planned(company)
    repair = only_stop(plan).repair

    there = went(dispatcher, address(plan, repair), {"act": "leave"})

    draft = Plan.objects.get(derived_from=plan)
    assert not draft.stops.exists()
    page = look(dispatcher, there)
    assert "Left out (1)" in page.text
    assert "there is room 2" in page.text
    assert page.text.count("Put it there: crew ") == 2


def test_a_way_in_is_one_button(company: Company, dispatcher: Account) -> None:
    """What was left out goes in again by the first way its page offers."""
    plan = planned(company)
    repair = only_stop(plan).repair
    went(dispatcher, address(plan, repair), {"act": "leave"})
    draft = Plan.objects.get(derived_from=plan)
    way = draft.left_out.get().ways_in[0]

    went(
        dispatcher,
        address(draft, repair),
        {
            "act": "put",
            "crew": way["crew"],
            "on": way["on"],
            "number": way["number"],
            "instead_of": "",
        },
    )

    again = Plan.objects.get(derived_from=draft)
    assert only_stop(again).repair == repair


def test_a_way_in_instead_of_another_leaves_that_one_out(dispatcher: Account) -> None:
    """One crew with room for two: the B takes the place of a C, as the button says."""
    company = a_company(dispatcher, crews=1, repairs=2)
    Repair.objects.update(priority="C")
    a_waiting_repair(4, priority="C")
    plan = planned(company)
    left = plan.left_out.get(refused=False)
    Repair.objects.filter(pk=left.repair_id).update(priority="B")
    plan = planned(company)
    stays = plan.stops.order_by("number").first()
    assert stays is not None
    out = plan.left_out.get(refused=False).repair

    there = went(
        dispatcher,
        address(plan, out),
        {
            "act": "put",
            "crew": stays.crew.code,
            "on": plan.starts_on.isoformat(),
            "instead_of": str(stays.repair_id),
        },
    )

    draft = Plan.objects.get(derived_from=plan)
    assert there == page_address(draft)
    assert out in {stop.repair for stop in draft.stops.select_related("repair")}
    assert stays.repair in {row.repair for row in draft.left_out.select_related("repair")}


def test_what_does_not_fit_is_refused_with_every_reason(dispatcher: Account) -> None:
    """The day is full: the page says by how much, and keeps crew, day and number."""
    company = a_company(dispatcher, crews=1, repairs=3)
    plan = planned(company)
    out = plan.left_out.get().repair
    body = {"act": "put", "crew": "CREW-0", "on": plan.starts_on.isoformat(), "number": "3"}

    page = sent(dispatcher, address(plan, out), body, status=409)

    assert "It cannot be done" in page.text
    assert "day too short for it" in page.text
    assert "after the most overtime" in page.text
    assert page.typed["number"] == "3"
    assert Plan.objects.count() == 1


@pytest.mark.parametrize(
    ("box", "value", "words"),
    [
        ("crew", "NOBODY", "Choose one of the crews."),
        ("crew", "", "Choose one of the crews."),
        ("on", "2020-01-01", "Choose one of the days of this plan."),
        ("number", "0", "Expected a whole number from 1 to 200."),
        ("number", "<b>first</b>", "Expected a whole number from 1 to 200."),
    ],
)
def test_a_place_that_is_none_is_named(
    company: Company, dispatcher: Account, box: str, value: str, words: str
) -> None:
    """Nothing is stored; what was typed stays, as text."""
    plan = planned(company)
    body = {"act": "put", "crew": "CREW-0", "on": plan.starts_on.isoformat(), "number": "1"}

    page = sent(dispatcher, address(plan, only_stop(plan).repair), {**body, box: value}, status=422)

    assert words in page.text
    if box == "number":
        assert page.typed["number"] == value
    assert Plan.objects.count() == 1


def test_a_pin_wants_a_place_and_a_reason(company: Company, dispatcher: Account) -> None:
    """Each by itself is named; both together pin it, also on a day beyond this plan."""
    plan = planned(company)
    repair = only_stop(plan).repair
    later = (company.tomorrow + timedelta(days=30)).isoformat()

    nowhere = sent(
        dispatcher, address(plan, repair), {"act": "pin", "pin-reason": "noise"}, status=422
    )
    why = sent(dispatcher, address(plan, repair), {"act": "pin", "pin-on": later}, status=422)
    went(
        dispatcher,
        address(plan, repair),
        {"act": "pin", "pin-on": later, "pin-reason": "market day"},
    )

    assert "Say a crew, a day, or both." in nowhere.text
    assert nowhere.typed["pin-reason"] == "noise"
    assert "Say why, for whoever plans next." in why.text
    assert why.typed["pin-on"] == later
    pin = Pin.objects.get()
    assert (pin.crew, pin.on.isoformat() if pin.on else "", pin.reason) == (
        None,
        later,
        "market day",
    )


def test_a_pin_that_no_plan_could_keep_is_refused(company: Company, dispatcher: Account) -> None:
    """A day gone by, one beyond all plans, a crew without a yard: named where it was typed."""
    plan = planned(company)
    repair = only_stop(plan).repair
    company.crews[0].yard = None
    company.crews[0].save(update_fields=["yard"])
    company.crews[1].work_hours.all().delete()

    for typed, box, words in [
        ({"pin-on": "2020-01-01"}, "pin-on", "Found 2020-01-01, expected a day from"),
        ({"pin-on": "9999-12-31"}, "pin-on", "Found 9999-12-31, expected a day from"),
        ({"pin-crew": "CREW-0"}, "pin-reason", "Found CREW-0, which has no yard, expected"),
        ({"pin-crew": "CREW-1"}, "pin-reason", "Found CREW-1, which has no hours, expected"),
    ]:
        body = {"act": "pin", "pin-reason": "noise", **typed}
        page = sent(dispatcher, address(plan, repair), body, status=422)
        assert words in page.text
        assert page.typed[box] == body[box]
    assert not Pin.objects.exists()


@pytest.mark.parametrize("who", ["administrator", "reviewer", "crew_lead", "client_user"])
def test_only_a_dispatcher_changes_a_plan(
    company: Company, who: str, request: pytest.FixtureRequest
) -> None:
    """The door is closed to everybody else, both ways."""
    plan = planned(company)
    browser = client_of(request.getfixturevalue(who))
    place = address(plan, only_stop(plan).repair)

    assert browser.get(place).status_code == 403
    assert browser.post(place, {"act": "leave"}).status_code == 403
    assert Plan.objects.count() == 1
