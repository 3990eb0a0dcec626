"""A plan's page: whose day is full of what, what is kept, what is left out and why."""

from datetime import time
from zoneinfo import ZoneInfo

import pytest

from dispatch.domain.what_if import Supposition, WhatIf
from dispatch.models import Crew, Plan
from dispatch.pages.plans.plan_words import day_words
from dispatch.services.plan_publish import publish_plan
from repairs.models import Account, Repair
from tests.dispatch.plan_rows import Company, a_company, a_waiting_repair, planned
from tests.factories import CrewMemberFactory, EquipmentFactory, RepairFactory, now
from tests.page_reader import client_of, look

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def html_of(account: Account, plan: Plan) -> str:
    """Return the page as it is sent."""
    return str(client_of(account).get(f"/plans/{plan.pk}").content.decode())


def test_each_crew_has_its_strip_and_its_stops(company: Company, dispatcher: Account) -> None:
    """Arrival, work and slack of every stop; the crews by name; ways that are estimated say so."""
    plan = planned(company)

    page = look(dispatcher, f"/plans/{plan.pk}")

    for crew in company.crews:
        assert crew.name in page.text
    for stop in plan.stops.select_related("crew"):
        assert f"{stop.number}. {stop.name}" in page.text
        there = stop.arrives_at.astimezone(ZoneInfo(stop.crew.time_zone))
        assert f"arrives {there:%H:%M} works" in page.text
        assert f"/repairs/{stop.repair_id}" in page.links
        assert f"/plans/{plan.pk}/repairs/{stop.repair_id}" in page.links
    assert page.text.count("ways estimated") == 2
    assert "Repairs served 4 all of them" in page.text


def test_the_strip_is_drawn_in_shapes_and_lies_on_its_hours(
    company: Company, dispatcher: Account
) -> None:
    """Set-up, cure and finish of each stop, driving between; nothing off the paper."""
    html = html_of(dispatcher, planned(company))

    assert html.count('class="part-set-up edge"') == 4
    assert html.count('fill="url(#hatch-cure)" x=') == 4
    assert html.count('class="driving" x1="') >= 6


def test_an_inner_repair_is_drawn_below_the_one_that_cures(dispatcher: Account) -> None:
    """Two on one site, two packers: two rows, and in words whose cure it is."""
    company = a_company(dispatcher, crews=1, repairs=0)
    crew = company.crews[0]
    EquipmentFactory(crew=crew)
    EquipmentFactory.create_batch(2, crew=crew, kind="gauge")
    CrewMemberFactory.create_batch(2, crew=crew)
    for _ in range(2):
        a_waiting_repair(0)
    Crew.objects.update(beside_cure=True, beside_wait_min=120, most_overtime_min=0)
    crew.work_hours.update(ends=time(13))
    plan = planned(company)
    outer = plan.stops.get(beside__isnull=True)

    html = html_of(dispatcher, plan)

    assert f"set up in the cure of {outer.name}" in html
    assert 'class="strip" width="100%" height="110"' in html


def test_what_is_left_out_says_why_and_the_ways_in(dispatcher: Account) -> None:
    """One crew, three repairs: the C has no room, the B could go instead of it."""
    company = a_company(dispatcher, crews=1, repairs=2)
    a_waiting_repair(5, priority="C")
    Repair.objects.filter(pk=company.repairs[0].pk).update(priority="C")
    plan = planned(company)
    left = plan.left_out.get(refused=False)

    page = look(dispatcher, f"/plans/{plan.pk}")

    assert "Left out (1)" in page.text
    assert "Why, on 1 crew-day day too short for it 1" in page.text
    assert str(left.closest["words"]) in page.text
    assert "Fails by the least: back" in page.text


def test_a_refused_repair_has_its_code_and_its_words(company: Company, dispatcher: Account) -> None:
    """No prescription: what would help; the street is escaped."""
    bare = RepairFactory(run__site__street="<script>alert(1)</script>")

    page = look(dispatcher, f"/plans/{planned(company).pk}")

    assert "Not to be planned yet (1)" in page.text
    assert f"/repairs/{bare.pk}" in page.links
    assert "nothing is prescribed yet" in page.text
    assert "no_prescription" not in page.text
    assert "<script>alert(1)</script>" in page.text


def test_promises_are_kept_or_the_page_says_who_had_it_and_why(
    company: Company, dispatcher: Account
) -> None:
    """Published, then planned with a crew away: what it had is elsewhere, since it is gone."""
    first = publish_plan(plan=planned(company), by=dispatcher, now=now())
    again = planned(company)
    one = first.stops.select_related("crew").order_by("crew__code").first()
    assert one is not None
    away = WhatIf(Supposition.CREW_AWAY, crew=one.crew.code, on=one.on)
    changed = planned(company, changes=[away])

    assert look(dispatcher, f"/plans/{again.pk}").text.count(" kept ") == 4
    page = look(dispatcher, f"/plans/{changed.pk}")
    assert (
        f"Supposed, not so: crew {one.crew.code} does not go out on {day_words(one.on)}."
        in page.text
    )
    assert "Crews at home" in page.text
    moved = [each for each in changed.differences if each["kind"] == "moved"]
    assert page.text.count(f"was crew {one.crew.code},") == len(moved)
    out = [each for each in changed.differences if each["kind"] == "left_out"]
    assert page.text.count(f"Promised before: crew {one.crew.code},") == len(out)
    assert moved or out


def test_without_a_place_it_says_what_was_tried(dispatcher: Account) -> None:
    """Room for two of three alike: none of lower priority gives way, and no more is said."""
    plan = planned(a_company(dispatcher, crews=1, repairs=3))

    page = look(dispatcher, f"/plans/{plan.pk}")

    words = "No place on any crew-day, not even instead of one of lower priority."
    assert page.text.count(words) == 1


def test_an_administrator_only_looks(company: Company, administrator: Account) -> None:
    """No button that changes anything."""
    plan = planned(company)

    page = look(administrator, f"/plans/{plan.pk}")

    assert f"/plans/{plan.pk}/publish" not in page.links
    assert not [link for link in page.links if "/repairs/" in link and link.startswith("/plans")]


def test_a_plan_nobody_made_is_not_found(dispatcher: Account) -> None:
    """In words, as elsewhere."""
    look(dispatcher, "/plans/00000000-0000-4000-8000-000000000000", status=404)
