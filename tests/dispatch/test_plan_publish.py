"""Publishing sends the crews in one transaction, or changes nothing."""

from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from dispatch.domain.what_if import Supposition, WhatIf
from dispatch.models import Assignment, Crew, Equipment, Notice, Plan, PlanStop
from dispatch.pages.crew_day import crew_day
from dispatch.services.assign import assign, cancel_assignment
from dispatch.services.plan_by_hand import Put, move_stop
from dispatch.services.plan_publish import publish_plan
from dispatch.services.plan_what_if import make_what_if
from duework.models import WorkItem
from duework.runner import run_due
from repairs.domain.field_event import EventKind
from repairs.domain.problem import Refused
from repairs.domain.progress import Stage
from repairs.models import Account, FieldEvent, Repair
from repairs.selectors import progress_of
from tests.dispatch.plan_rows import STEPS, Company, a_company, a_waiting_repair, planned
from tests.factories import CrewMemberFactory, EquipmentFactory, now
from tests.proof_factories import ContactFactory
from tests.proved_repair import a_ready_crew

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def publish(company: Company, plan: Plan) -> Plan:
    """Publish now."""
    return publish_plan(plan=plan, by=company.dispatcher, now=now())


def codes(company: Company, plan: Plan) -> set[str]:
    """Return why a plan is refused."""
    with pytest.raises(Refused) as refused:
        publish(company, plan)
    assert refused.value.code == "plan_stale"
    return {str(each["code"]) for each in refused.value.reasons}


def live() -> list[tuple[object, ...]]:
    """Return what the crews are to do, as they are told."""
    rows = Assignment.objects.filter(cancelled_at__isnull=True)
    return list(rows.values_list("pk", "repair_id", "crew_id", "starts_at").order_by("pk"))


def everything() -> tuple[int, ...]:
    """Return how many rows there are that a published plan writes."""
    models = (Assignment, FieldEvent, Notice, WorkItem)
    return tuple(model.objects.count() for model in models)  # type: ignore[attr-defined]


def moved(company: Company, plan: Plan) -> tuple[PlanStop, Plan]:
    """Return a stop of crew one, and a draft in which crew two does it instead of nobody."""
    stop = plan.stops.filter(crew=company.crews[0]).order_by("-number").first()
    assert stop is not None
    draft = move_stop(
        plan=plan, repair=stop.repair, put=Put(None), by=company.dispatcher, now=now()
    )
    return stop, draft


def test_the_crews_are_sent_by_the_plan(company: Company) -> None:
    """Each stop is an assignment with its times, and its prescription is frozen."""
    plan = publish(company, planned(company))

    stops = {row.repair_id: (row.crew_id, row.starts_at, row.ends_at) for row in plan.stops.all()}
    rows = Assignment.objects.filter(cancelled_at__isnull=True)
    assert {row.repair_id: (row.crew_id, row.starts_at, row.ends_at) for row in rows} == stops
    assert plan.state == Plan.PUBLISHED
    assert set(Repair.objects.values_list("stage", flat=True)) == {"planned"}
    assert all(row.prescription.frozen_at for row in rows)


def test_publishing_twice_changes_nothing(company: Company) -> None:
    """Not a row more, neither by the one at hand nor by one read before."""
    plan = planned(company)
    stale = Plan.objects.get(pk=plan.pk)
    publish(company, plan)
    before = everything()

    publish(company, Plan.objects.get(pk=plan.pk))
    publish(company, stale)

    assert everything() == before


def test_each_crew_has_one_message_of_its_own_changes(company: Company) -> None:
    """Two crews, a notice each, which names its own repairs and no other."""
    lead = CrewMemberFactory(crew=company.crews[0], lead=True)
    ContactFactory(account=lead.account)

    plan = publish(company, planned(company))

    told = {row.crew_id: row.words for row in Notice.objects.all()}
    assert set(told) == {crew.pk for crew in company.crews}
    for stop in plan.stops.select_related("repair"):
        assert f"New: {stop.repair.ref}," in told[stop.crew_id]
        assert all(stop.repair.ref not in told[key] for key in told if key != stop.crew_id)
    assert Notice.objects.filter(messages__contact__account=lead.account).count() == 1


def test_only_what_changed_is_told_and_touched(company: Company) -> None:
    """One repair is taken out: its crew hears of it, the other hears and has nothing new."""
    plan = publish(company, planned(company))
    before = live()
    stop, draft = moved(company, plan)

    publish(company, draft)

    told = Notice.objects.get(subject_id=str(draft.pk))
    assert told.crew == stop.crew
    assert told.words.startswith(f"No longer yours: {stop.repair.ref}")
    assert len(told.words.splitlines()) == 1
    assert live() == [row for row in before if row[1] != stop.repair_id]
    plan.refresh_from_db()
    assert plan.state == Plan.SUPERSEDED


def test_a_plan_that_changes_nothing_tells_nobody(company: Company) -> None:
    """Planned again from what was told: the same stops, no notice, no row."""
    publish(company, planned(company))
    again = planned(company)
    before, rows = everything(), live()

    publish(company, again)

    assert live() == rows
    assert everything() == before
    assert again.differences == []


def test_a_failure_in_the_middle_leaves_nothing(company: Company) -> None:
    """The last of four clashes with what was assigned by hand meanwhile: none is assigned."""
    plan = planned(company)
    last = plan.stops.order_by("starts_at").last()
    assert last is not None
    assign(
        repair=a_waiting_repair(),
        crew=last.crew,
        starts_at=last.starts_at,
        ends_at=last.ends_at,
        by=company.dispatcher,
        now=now(),
    )
    before, rows = everything(), live()

    assert codes(company, plan) == {"double_booking"}

    assert (everything(), live()) == (before, rows)
    assert Plan.objects.get(pk=plan.pk).state == Plan.DRAFT
    assert not Repair.objects.filter(pk=last.repair_id, stage="planned").exists()


def test_every_reason_is_told_at_once(company: Company) -> None:
    """A packer out of use, a repair on hold, one given to another crew: all three."""
    plan = planned(company)
    first, second = plan.stops.filter(crew=company.crews[0]).order_by("number")
    other = plan.stops.filter(crew=company.crews[1]).order_by("number").last()
    assert other is not None
    Equipment.objects.filter(crew=company.crews[0]).update(out_of_use="burst")
    Repair.objects.filter(pk=second.repair_id).update(on_hold="the road is closed")
    assign(
        repair=other.repair,
        crew=company.crews[1],
        starts_at=other.starts_at + timedelta(days=1),
        ends_at=other.ends_at + timedelta(days=1),
        by=company.dispatcher,
        now=now(),
    )

    assert {"packer_does_not_fit", "on_hold"} <= codes(company, plan)
    assert first.repair_id not in {row[1] for row in live()}


def test_what_was_decided_meanwhile_is_not_overruled(company: Company) -> None:
    """A dispatcher took a promised repair back by hand: the plan from before is refused."""
    publish(company, planned(company))
    draft = planned(company)
    row = Assignment.objects.filter(cancelled_at__isnull=True).first()
    assert row is not None
    cancel_assignment(assignment=row, reason="invented", by=company.dispatcher, now=now())

    assert "assigned_meanwhile" in codes(company, draft)


def test_a_superseded_plan_is_not_published_again(company: Company) -> None:
    """What another plan has replaced is history."""
    first = publish(company, planned(company))
    _, draft = moved(company, first)
    publish(company, draft)

    assert "superseded" in codes(company, Plan.objects.get(pk=first.pk))


def test_a_changed_shift_makes_the_times_wrong(company: Company) -> None:
    """The crew begins an hour later now: what the plan says is no longer true."""
    plan = planned(company)
    Crew.objects.get(pk=company.crews[0].pk).work_hours.update(begins="08:00")

    found = codes(company, plan)

    assert found & {"times_moved", "shift_too_short"}


def test_a_crew_of_two_sets_up_nothing_beside_a_cure(dispatcher: Account) -> None:
    """One would stay with the live packer and one would work alone: the second has to wait."""
    company = a_company(dispatcher, crews=1, repairs=0)
    crew = company.crews[0]
    EquipmentFactory(crew=crew)
    EquipmentFactory.create_batch(2, crew=crew, kind="gauge")
    CrewMemberFactory(crew=crew)
    for _ in range(2):
        a_waiting_repair(0)
    Crew.objects.update(beside_cure=True, beside_wait_min=120, most_overtime_min=0)
    crew.work_hours.update(ends=time(13))

    plan = planned(company)

    assert plan.stops.count() == 1


def test_a_repair_set_up_in_anothers_cure_is_sent_as_such(dispatcher: Account) -> None:
    """Two on one site, two packers, a shift for little more than one: the two overlap."""
    company = a_company(dispatcher, crews=1, repairs=0)
    crew = company.crews[0]
    EquipmentFactory(crew=crew)
    EquipmentFactory.create_batch(2, crew=crew, kind="gauge")
    CrewMemberFactory.create_batch(2, crew=crew)
    both = [a_waiting_repair(0) for _ in range(2)]
    Crew.objects.update(beside_cure=True, beside_wait_min=120, most_overtime_min=0)
    crew.work_hours.update(ends=time(13))

    plan = publish(company, planned(company))

    inner = Assignment.objects.get(beside__isnull=False)
    outer = inner.beside
    assert outer is not None
    assert {inner.repair_id, outer.repair_id} == {each.pk for each in both}
    assert outer.starts_at < inner.starts_at < outer.ends_at
    before = live()
    publish(company, planned(company))
    assert live() == before
    assert plan.stops.filter(beside__isnull=False).count() == 1


def test_an_urgent_repair_disturbs_only_whom_it_must(company: Company) -> None:
    """Published, then one more is urgent: what else changes has its price, and most stands."""
    first = publish(company, planned(company, days=2))
    before = {row[1]: row for row in live()}
    urgent = a_waiting_repair(9)
    run = make_what_if(
        plan=first,
        changes=[WhatIf(Supposition.URGENT, repair=str(urgent.pk))],
        by=company.dispatcher,
        now=now(),
        iterations=STEPS,
    )
    run_due()
    run.refresh_from_db()
    assert run.plan is not None

    second = publish(company, run.plan)

    after = {row[1]: row for row in live()}
    assert urgent.pk in after
    stays = {key for key in before if after.get(key) == before[key]}
    # What is promised is crew and day; hours move where the urgent one goes in before them.
    broken = [key for key, row in before.items() if _promise(after[key]) != _promise(row)]
    assert len(broken) <= len(before) // 2
    crews = {row[2] for key, row in {**before, **after}.items() if key not in stays}
    told = set(Notice.objects.filter(subject_id=str(second.pk)).values_list("crew", flat=True))
    assert told == crews


def _promise(row: tuple[Any, ...]) -> tuple[Any, Any]:
    return row[2], row[3].date()


def test_what_is_supposed_holds_when_it_is_published(company: Company) -> None:
    """The crew that is supposed away has nothing, though no row says that it is away."""
    first = publish(company, planned(company))
    away = WhatIf(Supposition.CREW_AWAY, crew=company.crews[0].code, on=company.tomorrow)
    run = make_what_if(
        plan=first, changes=[away], by=company.dispatcher, now=now(), iterations=STEPS
    )
    run_due()
    run.refresh_from_db()
    assert run.plan is not None

    second = publish(company, run.plan)

    assert {row[2] for row in live()} == {company.crews[1].pk}
    told = Notice.objects.get(subject_id=str(second.pk), crew=company.crews[0])
    assert all(line.startswith("No longer yours") for line in told.words.splitlines())


def test_what_can_no_longer_be_done_is_taken_back_and_told(company: Company) -> None:
    """A promised repair is on hold: its crew hears that it is gone, and its hours are free."""
    first = publish(company, planned(company))
    stop = first.stops.order_by("starts_at").first()
    assert stop is not None
    Repair.objects.filter(pk=stop.repair_id).update(on_hold="the road is closed")

    second = planned(company)
    publish(company, second)

    gone = next(each for each in second.differences if each["repair"] == stop.name)
    assert (gone["kind"], gone["forced"], gone["now"]) == ("gone", True, None)
    assert stop.repair_id not in {row[1] for row in live()}
    told = Notice.objects.get(subject_id=str(second.pk), crew=stop.crew)
    assert f"No longer yours: {stop.repair.ref}" in told.words


def test_a_crew_that_no_plan_knows_keeps_what_it_was_given_by_hand(company: Company) -> None:
    """It has no yard and no hours: its work is listed, and stays its own."""
    lead, _, _ = a_ready_crew()
    repair = a_waiting_repair(7)
    start = now() + timedelta(days=1)
    row = assign(
        repair=repair,
        crew=lead.crew,
        starts_at=start,
        ends_at=start + timedelta(hours=4),
        by=company.dispatcher,
        now=now(),
    )

    plan = publish(company, planned(company, days=2))

    left = plan.left_out.get(repair=repair)
    assert left.code == "with_another_crew"
    assert row.pk in {each[0] for each in live()}


def test_what_a_second_plan_moves_is_still_planned(company: Company) -> None:
    """Taken back and given anew in one publishing: each repair has a crew and says so."""
    plan = publish(company, planned(company))
    first = live()
    stop = plan.stops.order_by("-number").first()  # the last one of a crew goes first
    assert stop is not None
    put = Put(stop.crew, plan.starts_on, number=1)
    draft = move_stop(plan=plan, repair=stop.repair, put=put, by=company.dispatcher, now=now())

    publish(company, draft)

    assert live() != first
    assert set(Repair.objects.values_list("stage", flat=True)) == {"planned"}
    for repair in company.repairs:
        steps = progress_of(repair).steps
        assert progress_of(repair).stage is Stage.PLANNED
        assert steps[-1].kind is EventKind.ASSIGNED


def waiting() -> dict[str, str]:
    """Return for each crew's code what waits to be acknowledged: the plan it tells of."""
    rows = Notice.objects.filter(acknowledged_at=None, settled_at=None)
    return {row.crew.code: row.subject_id for row in rows if row.crew}


def test_a_newer_plan_settles_what_an_older_one_told(company: Company) -> None:
    """Only the last word of the same days waits for the crew it changes; others keep theirs."""
    first = publish(company, planned(company))
    stop, draft = moved(company, first)

    publish(company, draft)

    told = waiting()
    assert told == {
        crew.code: str((draft if crew == stop.crew else first).pk) for crew in company.crews
    }
    assert Notice.objects.filter(crew=stop.crew, settled_at__isnull=False).count() == 1


def test_a_shorter_plan_leaves_what_was_told_of_the_days_after(company: Company) -> None:
    """The older one speaks of two days, the newer of the first of them: both wait."""
    publish(company, planned(company, days=2))
    again = planned(company)
    stop = again.stops.first()
    assert stop is not None
    _, draft = moved(company, again)

    publish(company, draft)

    assert not Notice.objects.filter(settled_at__isnull=False).exists()
    assert Notice.objects.filter(subject_id=str(draft.pk)).exists()


def test_the_crews_page_says_when_to_leave_the_yard(company: Company) -> None:
    """By the plan that stands, until it is time; nothing once the day was changed by hand."""
    plan = publish(company, planned(company))
    first = plan.stops.filter(number=1).select_related("crew").first()
    assert first is not None
    zone = ZoneInfo(first.crew.time_zone)
    seven = datetime.combine(first.on, time(7), zone)
    lead = CrewMemberFactory(crew=first.crew, lead=True).account

    def said(at: datetime) -> str:
        day = crew_day(lead, now=at)
        assert day is not None
        return day.leaves

    there = first.arrives_at.astimezone(zone)
    words = f"Leave the yard at 07:00: at {first.name} by {there:%H:%M}."
    assert said(seven - timedelta(hours=1)) == words
    assert said(seven) == ""
    assert said(seven - timedelta(days=1)) == ""
    row = Assignment.objects.get(repair=first.repair, cancelled_at=None)
    cancel_assignment(assignment=row, reason="invented", by=company.dispatcher, now=now())
    assert said(seven - timedelta(hours=1)) == ""
