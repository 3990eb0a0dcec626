"""A day that has begun: what a crew is at stays, it goes on from there, the rest is planned."""

from datetime import datetime, time, timedelta

import pytest

from dispatch.domain.what_if import Supposed
from dispatch.models import Assignment, Crew
from dispatch.plan_facts.facts import PlanFacts, plan_facts
from dispatch.services.assign import assign
from dispatch.services.plan_publish import publish_plan
from duework.runner import run_due
from qa.history_check import history_faults
from qa.services.write_history import write_history
from repairs.models import Account, Repair
from tests.dispatch.plan_rows import Company, a_company, ask
from tests.factories import now
from tests.proof_factories import FieldEventFactory

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews that work round the clock, and three repairs, where it is still morning.

    A day that is nearly over would cut off what these tests look at.
    """
    made = a_company(dispatcher, repairs=3)
    zone = f"Etc/GMT{min(now().hour - 6, 12):+d}"  # POSIX counts them from Greenwich to the west
    for crew in made.crews:
        crew.work_hours.update(begins=time(0), ends=time(0))
        crew.time_zone = zone
        crew.save()
    for repair in made.repairs:
        repair.run.site.time_zone = zone
        repair.run.site.save()
    return made


def begin(company: Company, repair: Repair, crew: Crew, kinds: list[str], ago: timedelta) -> None:
    """Have a crew be at a repair since a while."""
    start = now() - ago
    assign(
        repair=repair,
        crew=crew,
        starts_at=start,
        ends_at=start + 4 * HOUR,
        by=company.dispatcher,
        now=start,
    )
    for n, kind in enumerate(kinds):
        FieldEventFactory(
            repair=repair,
            kind=kind,
            device_time=start + timedelta(minutes=5 * n),
            received_at=start + timedelta(minutes=5 * n),
        )
    stage = {"arrived": "on site", "mixing_started": "wet out"}[kinds[-1]]
    Repair.objects.filter(pk=repair.pk).update(stage=stage)


def facts_at(at: datetime) -> PlanFacts:
    """Return what there is to plan from today on."""
    return plan_facts(starts_on=at.date(), days=2, supposed=Supposed(), now=at)


def test_what_is_begun_is_not_planned_and_its_crew_goes_on_from_there(company: Company) -> None:
    """The crew is free after set-up, cure and finish, at the site, not at the yard."""
    crew, repair = company.crews[0], company.repairs[0]
    begin(company, repair, crew, ["arrived"], HOUR / 2)
    at = now()

    facts = facts_at(at)

    assert repair.ref not in facts.problem.repair
    assert (repair.pk, "work_has_begun") in {(e.repair.pk, e.code) for e in facts.not_planned}
    today = next(day for day in facts.problem.crew_days if day.crew == crew.code)
    other = next(day for day in facts.problem.crew_days if day.crew != crew.code)
    assert today.start_place != today.end_place
    assert other.start_place == other.end_place
    busy = timedelta(seconds=today.starts_s - facts.horizon.seconds(at))
    assert busy > 2 * HOUR  # set-up, an hour and three quarters of cure, finish, less half an hour
    assert other.starts_s >= facts.horizon.seconds(at)


def test_a_crew_that_is_late_is_free_later(company: Company) -> None:
    """It came an hour ago and has mixed only now: the whole cure is still to come."""
    crew, repair = company.crews[0], company.repairs[0]
    begin(company, repair, crew, ["arrived", "mixing_started"], 6 * HOUR)
    at = now()

    facts = facts_at(at)

    today = next(day for day in facts.problem.crew_days if day.crew == crew.code)
    cure_and_finish = timedelta(minutes=105)
    assert timedelta(seconds=today.starts_s - facts.horizon.seconds(at)) >= cure_and_finish


def test_the_kits_of_what_is_begun_are_not_planned_again(company: Company) -> None:
    """Ten on the truck, one for the repair under way: nine for the plan, once taken off."""
    crew, repair = company.crews[0], company.repairs[0]
    begin(company, repair, crew, ["arrived"], HOUR / 2)

    facts = facts_at(now())

    assert facts.problem.stock[crew.code, "KIT-300"] == 9
    assert facts.problem.stock[company.crews[1].code, "KIT-300"] == 10


def test_what_was_told_is_promised_and_may_move(company: Company) -> None:
    """An assignment of tomorrow is a promise of that crew and day, and its kit is free for it."""
    crew, repair = company.crews[0], company.repairs[0]
    start = now() + 24 * HOUR
    assign(
        repair=repair,
        crew=crew,
        starts_at=start,
        ends_at=start + 4 * HOUR,
        by=company.dispatcher,
        now=now(),
    )

    facts = facts_at(now())

    promise = facts.problem.promised[repair.ref]
    assert promise.crew == crew.code
    assert facts.horizon.date_of(promise.day) in {start.date(), start.date() + timedelta(days=1)}
    assert set(facts.told) == {repair.pk}
    assert facts.problem.stock[crew.code, "KIT-300"] == 10


def test_what_is_planned_for_another_week_is_left_there(company: Company) -> None:
    """It is listed, and its kit is not free."""
    crew, repair = company.crews[0], company.repairs[0]
    start = now() + 20 * 24 * HOUR
    assign(
        repair=repair,
        crew=crew,
        starts_at=start,
        ends_at=start + 4 * HOUR,
        by=company.dispatcher,
        now=now(),
    )

    facts = facts_at(now())

    assert (repair.pk, "planned_another_day") in {(e.repair.pk, e.code) for e in facts.not_planned}
    assert facts.told == {}
    assert facts.problem.stock[crew.code, "KIT-300"] == 9


def test_a_second_sleeve_is_still_to_come_while_the_first_one_cures(company: Company) -> None:
    """Two sleeves: the crew is not free when the first one is."""
    crew = company.crews[0]
    ends = []
    for sleeves, repair in zip((1, 2), company.repairs, strict=False):
        row = repair.prescriptions.get()
        row.result = {**(row.result or {}), "sleeve_count": sleeves}
        row.save()
        begin(company, repair, crew, ["arrived", "mixing_started"], HOUR / 2)
        FieldEventFactory(repair=repair, kind="inflated", device_time=now())
        Repair.objects.filter(pk=repair.pk).update(stage="curing")
        facts = facts_at(now())
        ends.append(next(day.starts_s for day in facts.problem.crew_days if day.crew == crew.code))
        Repair.objects.filter(pk=repair.pk).update(stage="filmed")
        repair.assignments.update(cancelled_at=now())

    assert ends[1] > ends[0] + 3600


def test_a_crew_that_has_filmed_is_free_at_once_and_at_that_site(company: Company) -> None:
    """Told to be there for three hours more, it was quick: its next repair may begin now."""
    crew, repair = company.crews[0], company.repairs[0]
    company.crews[1].work_hours.all().delete()  # so that it is this crew that goes on
    begin(company, repair, crew, ["arrived"], HOUR)
    Repair.objects.filter(pk=repair.pk).update(stage="filmed")
    at = now()

    facts = facts_at(at)
    today = next(day for day in facts.problem.crew_days if day.crew == crew.code)
    assert today.starts_s - facts.horizon.seconds(at) <= 1
    assert today.start_place != today.end_place

    run = ask(company, starts_on=at.date(), days=2)
    run_due()
    run.refresh_from_db()
    assert run.plan is not None
    told = repair.assignments.get().ends_at
    write_history(now=now())
    published = now()
    publish_plan(plan=run.plan, by=company.dispatcher, now=published)
    write_history(now=now())

    assert Assignment.objects.filter(cancelled_at__isnull=True).count() == 3
    row = repair.assignments.get()
    assert (row.ends_at, row.freed_at) == (told, published)  # what it was told stays
    assert not history_faults(now=now()).faults
