"""A plan is asked for, made by due work, watched, and called off."""

import time
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from dispatch.models import Crew, Plan, PlanRun
from dispatch.services.plan_ask import ask_for_plan, cancel_run
from dispatch.services.plan_search import search_plan
from dispatch.services.plan_store import finish_run
from duework.models import WorkItem
from duework.runner import run_due
from repairs.domain.problem import Refused
from repairs.models import Account, RequirementSet
from tests.dispatch.plan_rows import Company, a_company, a_waiting_repair, ask, planned
from tests.factories import RepairFactory, now, today

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class Held:
    """A lease that nobody takes away; it remembers what was reported, and may act on it."""

    def __init__(self, act: Any = None) -> None:
        self.reported: list[int] = []
        self._act = act

    def check(self) -> None:
        """Nobody took it."""

    def report(self, percent: int) -> None:
        """Remember, and act."""
        self.reported.append(percent)
        if self._act is not None:
            self._act(percent)


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def test_a_plan_is_made_by_due_work(company: Company) -> None:
    """Every repair has its stop in a shift; the plan says what it was made with."""
    plan = planned(company)

    stops = list(plan.stops.all())
    assert {row.repair_id for row in stops} == {each.pk for each in company.repairs}
    for row in stops:
        local = row.starts_at.astimezone()
        assert row.on == company.tomorrow
        assert row.arrives_at <= row.starts_at < row.ends_at
        assert row.slack_s >= 0, local
    assert (plan.seed, plan.state, plan.travel_source) == (1, Plan.DRAFT, "estimated")
    assert len(plan.inputs_hash) == 64
    run = PlanRun.objects.get()
    assert (run.state, run.percent) == (PlanRun.DONE, 100)


def test_the_same_rows_and_seed_give_the_same_plan(company: Company) -> None:
    """So that an audit can ask again: the inputs have the same hash, the stops the same times."""
    first, second = planned(company), planned(company)

    def told(plan: Plan) -> list[tuple[object, ...]]:
        return list(plan.stops.values_list("name", "crew", "on", "number", "starts_at"))

    assert told(first) == told(second)
    assert first.inputs_hash == second.inputs_hash


def test_what_cannot_be_planned_is_listed_with_its_reason(company: Company) -> None:
    """No prescription, on hold, too big for any packer: each is told, the others are planned."""
    bare = RepairFactory()
    waits = a_waiting_repair(on_hold="the resident is away")
    wide = a_waiting_repair(run__diameter_mm=900.0)

    plan = planned(company)

    told = dict(plan.left_out.values_list("repair_id", "code"))
    assert told[bare.pk] == "no_prescription"
    assert told[waits.pk] == "on_hold"
    assert told[wide.pk] == "packer_does_not_fit"
    assert plan.stops.count() == len(company.repairs)
    assert all(row.refused and row.words for row in plan.left_out.all())


def test_what_has_no_room_is_left_out_with_counted_reasons_and_ways_in(
    dispatcher: Account,
) -> None:
    """One crew has room for two a day: the third has its reasons, and no crew-day is missing."""
    company = a_company(dispatcher, crews=1, repairs=4)
    company.repairs[0].priority = "A"
    company.repairs[0].save()

    plan = planned(company)

    left = list(plan.left_out.filter(refused=False))
    assert len(left) == 2
    assert company.repairs[0].pk not in {row.repair_id for row in left}
    for row in left:
        assert sum(row.counted.values()) == 1
        assert row.code == "shift_too_short"
        assert row.closest["short_s"] > 0


def test_a_crew_that_cannot_be_planned_is_listed(company: Company) -> None:
    """Without a yard or hours nobody goes out, and the plan says who and why."""
    Crew.objects.filter(pk=company.crews[0].pk).update(yard=None)
    company.crews[1].work_hours.all().delete()

    plan = planned(company)

    assert {each["code"] for each in plan.crews_left_out} == {"no_yard", "no_hours"}
    assert set(plan.left_out.values_list("code", flat=True)) == {"no_crew_day"}


def test_two_plans_of_the_same_days_are_not_made_at_once(company: Company) -> None:
    """The second is refused and told which one to wait for; other days are free."""
    first = ask(company, days=3)

    with pytest.raises(Refused) as refused:
        ask(company, starts_on=company.tomorrow + 2 * DAY)

    assert refused.value.code == "plan_under_way"
    assert refused.value.more["run"] == str(first.pk)
    assert ask(company, starts_on=company.tomorrow + 3 * DAY).state == PlanRun.WAITING
    run_due()
    assert ask(company).state == PlanRun.WAITING


def test_a_run_that_was_given_up_holds_nobody_up(company: Company) -> None:
    """Its work is dead: the next one may begin, and the old one says what became of it."""
    first = ask(company)
    WorkItem.objects.filter(subject_id=str(first.pk)).update(
        state=WorkItem.State.DEAD, last_error="RuntimeError: invented"
    )

    ask(company)

    first.refresh_from_db()
    assert (first.state, first.said) == (PlanRun.FAILED, "RuntimeError: invented")


def test_days_that_are_over_are_not_planned(company: Company) -> None:
    """A plan for last week is a slip of the pen."""
    with pytest.raises(Refused) as refused:
        ask_for_plan(starts_on=today() - 9 * DAY, days=2, by=company.dispatcher, now=now())

    assert refused.value.faults[0].field == "starts_on"


def test_a_run_that_waits_is_called_off_at_once(company: Company) -> None:
    """Nothing is planned then."""
    run = cancel_run(run=ask(company), now=now())
    run_due()

    run.refresh_from_db()
    assert (run.state, run.plan) == (PlanRun.CANCELLED, None)
    assert cancel_run(run=run, now=now()).state == PlanRun.CANCELLED


def test_a_search_that_is_called_off_keeps_its_best(company: Company) -> None:
    """Given a minute and called off in the middle, it ends in seconds with a plan that holds."""
    run = ask(company, iterations=None, search_s=60)

    def call_off(percent: int) -> None:
        if percent >= 10:
            cancel_run(run=run, now=now())

    began = time.monotonic()
    lease = Held(call_off)
    draft = search_plan(run_id=str(run.pk), lease=lease)
    finish_run(run_id=str(run.pk), draft=draft, now=now())

    run.refresh_from_db()
    assert time.monotonic() - began < 15
    assert run.state == PlanRun.CANCELLED
    assert run.plan is not None
    assert run.plan.stops.count() == len(company.repairs)


def test_the_progress_is_written_while_it_searches(company: Company) -> None:
    """Whoever watches sees the percentage rise, and words."""
    run = ask(company, iterations=None, search_s=3)
    lease = Held()

    search_plan(run_id=str(run.pk), lease=lease)

    assert lease.reported == sorted(lease.reported)
    assert len(set(lease.reported)) >= 4
    run.refresh_from_db()
    assert (run.state, run.percent) == (PlanRun.SEARCHING, 95)


def test_done_twice_it_stores_one_plan(company: Company) -> None:
    """A runner died after its search: another does it again, and only one plan stands."""
    run = ask(company)
    lost = search_plan(run_id=str(run.pk), lease=Held())  # its process ends here

    run_due()
    finish_run(run_id=str(run.pk), draft=lost, now=now())
    run_due()

    assert Plan.objects.count() == 1
    assert WorkItem.objects.get(subject_id=str(run.pk)).state == WorkItem.State.DONE


def test_a_search_that_fails_says_so_and_is_given_up_in_the_end(company: Company) -> None:
    """A contract whose limits cannot be read: each attempt is told, the last one ends the run."""
    RequirementSet.objects.update(limits={"hold_test_min": "five"})
    run = ask(company)
    told = []

    for _ in range(WorkItem.MAX_ATTEMPTS):
        WorkItem.objects.filter(subject_id=str(run.pk)).update(due_at=now() - DAY)
        run_due()
        run.refresh_from_db()
        told.append((run.state, "tried again" in run.said))

    assert told == [*[(PlanRun.SEARCHING, True)] * 7, (PlanRun.FAILED, False)]
    assert "limits" in run.said
    assert ask(company).state == PlanRun.WAITING


def test_repairs_that_are_called_the_same_are_told_apart(dispatcher: Account) -> None:
    """Two clients each have an R-1: the plan calls them by their orders too."""
    company = a_company(dispatcher, repairs=0)
    both = [a_waiting_repair(n, ref="R-1") for n in range(2)]

    plan = planned(company)

    names = dict(plan.stops.values_list("repair_id", "name"))
    assert names == {each.pk: f"{each.work_order.number} R-1" for each in both}
    assert all(isinstance(key, UUID) for key in names)
