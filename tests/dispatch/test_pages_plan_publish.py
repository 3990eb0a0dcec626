"""Before the crews are told: their very words. Afterwards: who was told, and what each answered."""

from zoneinfo import ZoneInfo

import pytest

from dispatch.domain.what_if import Supposition, WhatIf
from dispatch.models import Assignment, Equipment, Notice, Plan
from dispatch.plan_facts.crew_news import news_before_publishing
from dispatch.services.assign import cancel_assignment
from dispatch.services.escalate import acknowledge
from dispatch.services.plan_by_hand import Put, move_stop
from repairs.models import Account, Repair
from tests.dispatch.plan_pages import page_address, sent, went
from tests.dispatch.plan_rows import Company, a_company, planned
from tests.factories import CrewMemberFactory, now
from tests.page_reader import client_of, look
from tests.proof_factories import ContactFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def promised_words(plan: Plan) -> dict[str, str]:
    """Return what each crew would be told."""
    return {each.crew.code: each.words for each in news_before_publishing(plan) if each.words}


def told_words(plan: Plan) -> dict[str, str]:
    """Return what each crew was told."""
    rows = Notice.objects.filter(subject_id=str(plan.pk), source="plan")
    return {row.crew.code: row.words for row in rows if row.crew}


def publish(dispatcher: Account, plan: Plan) -> None:
    """Press the button."""
    address = page_address(plan, "/publish")
    assert went(dispatcher, address, {}) == address


def test_each_crew_is_told_the_words_that_were_shown(company: Company, dispatcher: Account) -> None:
    """The first plan, a stop left out, a crew away, a repair on hold: shown before, told after."""
    first = planned(company)
    shown = [promised_words(first)]
    publish(dispatcher, first)
    stop = first.stops.order_by("pk").first()
    assert stop is not None
    second = move_stop(plan=first, repair=stop.repair, put=Put(None), by=dispatcher, now=now())
    shown.append(promised_words(second))
    publish(dispatcher, second)
    away = WhatIf(Supposition.CREW_AWAY, crew=company.crews[0].code, on=company.tomorrow)
    third = planned(company, changes=[away])
    shown.append(promised_words(third))
    publish(dispatcher, third)
    held = third.stops.order_by("pk").first()
    assert held is not None
    Repair.objects.filter(pk=held.repair_id).update(on_hold="the road is closed")
    fourth = planned(company)
    shown.append(promised_words(fourth))
    publish(dispatcher, fourth)

    assert shown == [told_words(plan) for plan in (first, second, third, fourth)]
    assert all(shown)


def test_the_page_says_only_what_changes_and_to_whom(company: Company, dispatcher: Account) -> None:
    """A stop is left out: its crew loses it, the other is told nothing."""
    lead = CrewMemberFactory(crew=company.crews[0], lead=True)
    first = planned(company)
    publish(dispatcher, first)
    stop = first.stops.filter(crew=company.crews[0]).order_by("-number").first()
    assert stop is not None
    draft = move_stop(plan=first, repair=stop.repair, put=Put(None), by=dispatcher, now=now())

    page = look(dispatcher, page_address(draft, "/publish"))

    assert f"No longer yours: {stop.repair.ref}" in page.text
    assert lead.account.display_name in page.text
    assert f"{company.crews[1].name} Nothing changes: it is told nothing." in page.text.replace(
        "  ", " "
    )
    assert "New:" not in page.text


def test_published_the_page_says_who_was_told(company: Company, dispatcher: Account) -> None:
    """By which channel, and who has read it; the button is gone; twice changes nothing."""
    lead = CrewMemberFactory(crew=company.crews[0], lead=True)
    ContactFactory(account=lead.account)
    plan = planned(company)

    publish(dispatcher, plan)
    publish(dispatcher, plan)

    page = look(dispatcher, page_address(plan, "/publish"))
    assert "Who was told" in page.text
    assert f"{lead.account.display_name} by webhook on its way" in page.text
    assert page.text.count("not acknowledged yet") == 2
    assert "Publish: send the crews" not in page.text
    notice = Notice.objects.get(crew=company.crews[0], source="plan")
    acknowledge(notice=notice, by=lead.account, now=now())
    again = look(dispatcher, page_address(plan, "/publish"))
    assert f"{lead.account.display_name} has read it" in again.text


def test_a_stale_plan_shows_every_reason_and_changes_nothing(
    company: Company, dispatcher: Account
) -> None:
    """A packer out of use and a repair on hold: both, in words; no crew is told."""
    plan = planned(company)
    Equipment.objects.filter(crew=company.crews[0], kind="packer").update(out_of_use="burst")
    held = plan.stops.filter(crew=company.crews[1]).select_related("repair").first()
    assert held is not None
    Repair.objects.filter(pk=held.repair_id).update(on_hold="<i>the road is closed</i>")

    page = sent(dispatcher, page_address(plan, "/publish"), {}, status=409)

    assert "no packer for the bore" in page.text
    assert "on hold" in page.text
    assert held.name in page.text
    assert page_address(plan, "/what-if") in page.links
    assert "New:" not in page.text
    assert "Publish: send the crews" not in page.text
    shown = look(dispatcher, page_address(plan, "/publish"))
    assert "It no longer holds, and cannot be published:" in shown.text
    assert "on hold" in shown.text
    assert held.name in shown.text
    assert "New:" not in shown.text
    assert "Publish: send the crews" not in shown.text
    assert not Assignment.objects.filter(cancelled_at__isnull=True).exists()
    assert not Notice.objects.filter(source="plan").exists()


def test_that_another_plan_was_published_is_said(company: Company, dispatcher: Account) -> None:
    """When and by whom, before the button could be pressed; an order by hand names no plan."""
    stale, other = planned(company), planned(company, seed=2)
    publish(dispatcher, other)
    other.refresh_from_db()
    assert other.published_at is not None
    when = other.published_at.astimezone(ZoneInfo(stale.zone))

    page = look(dispatcher, page_address(stale, "/publish"))

    said = f"another plan was published on {when:%a} {when.day} {when:%b} at {when:%H:%M}"
    assert page.text.count(f"{said} by {dispatcher.display_name}") == 4
    assert "decided by somebody meanwhile" in page.text
    assert "Publish: send the crews" not in page.text


def test_what_one_person_decided_meanwhile_names_no_plan(
    company: Company, dispatcher: Account
) -> None:
    """A repair was taken back by hand since."""
    publish(dispatcher, planned(company))
    stale = planned(company)
    row = Assignment.objects.filter(cancelled_at__isnull=True).first()
    assert row is not None
    cancel_assignment(assignment=row, reason="the road is closed", by=dispatcher, now=now())

    page = look(dispatcher, page_address(stale, "/publish"))

    assert f"was taken back from {row.crew}" in page.text
    assert "another plan was published" not in page.text


def test_an_administrator_reads_and_does_not_publish(
    company: Company, administrator: Account
) -> None:
    """The words, no button, and a closed door."""
    plan = planned(company)

    page = look(administrator, page_address(plan, "/publish"))

    assert page.text.count("New:") == 4
    assert "Publish: send the crews" not in page.text
    assert client_of(administrator).post(page_address(plan, "/publish")).status_code == 403
    assert Plan.objects.get().state == Plan.DRAFT


def test_the_trucks_have_their_lists(company: Company, dispatcher: Account) -> None:
    """Lot, kits and packer for each crew that goes out; a day that is none of the plan says so."""
    plan = planned(company)

    page = look(dispatcher, page_address(plan, "/load-out"))
    wrong = look(dispatcher, page_address(plan, "/load-out?on=2020-01-01"), status=422)

    for crew in company.crews:
        packer = crew.equipment.get(kind="packer")
        stock = crew.kit_stock.select_related("lot").get()
        assert f"Packer {packer.serial}" in page.text
        assert stock.lot.number in page.text
    assert "missing" not in page.text
    assert "That is no day of this plan." in wrong.text


def test_a_kit_that_is_missing_is_told_on_top(company: Company, dispatcher: Account) -> None:
    """The truck was counted again after it was planned: nothing is left of the lot."""
    plan = planned(company)
    company.crews[0].kit_stock.update(quantity=0)

    page = look(dispatcher, page_address(plan, "/load-out"))

    assert "missing: order them, or move a repair" in page.text
