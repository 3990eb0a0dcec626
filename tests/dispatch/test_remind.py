"""Reminders are written, moved and called off with the clocks, and told once."""

from datetime import datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from dispatch.models import Notice
from dispatch.services.ask_repair import REPAIR
from dispatch.services.remind import REMIND, bring_in_line
from duework.models import WorkItem
from duework.runner import run_due
from tests.callers import API, post_event, with_token
from tests.factories import CrewMemberFactory, now
from tests.field_sequence import carried, event
from tests.proved_repair import ProvedRepair, a_planned_repair

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def planned(db: None) -> ProvedRepair:  # noqa: ARG001 - rows need the database
    """Return a repair that is assigned, with nothing reported."""
    return a_planned_repair()


def post(planned: ProvedRepair, kind: str, at: datetime, **more: object) -> str:
    """Report a step as crew one's phone, whose clock is right; return the event's id."""
    data = carried(
        planned.repair, lot=planned.lot, packer=planned.packer.serial, masses=(2.0, 1.0)
    )[kind]
    sent = event(planned.repair.id, kind, at, data, **more)
    answer = post_event(with_token(planned.lead), sent, **{"Device-Time": now().isoformat()})
    assert answer.status_code == 201, answer.json()
    return str(sent["id"])


def work_until(moment: datetime) -> None:
    """Do everything that is due by then, with the clock standing at that moment."""
    while run_due(now=moment):
        pass


def due() -> dict[str, datetime]:
    """Return the reminders that still wait, by code."""
    rows = WorkItem.objects.filter(kind=REMIND, state=WorkItem.State.DUE, subject_type=REPAIR)
    return {row.payload["code"]: row.due_at for row in rows}


def told() -> list[str]:
    """Return the codes of what was told, in order."""
    return [notice.code for notice in Notice.objects.order_by("sent_at", "due_at")]


def test_mixing_schedules_the_end_of_the_working_time(planned: ProvedRepair) -> None:
    """Two reminders wait: shortly before, and at the end; nothing is told yet."""
    mixed = now() - MINUTE
    post(planned, "mixing_started", mixed)
    work_until(now())

    waiting = due()

    assert set(waiting) == {"working_time_running_out", "working_time_over"}
    assert mixed < waiting["working_time_running_out"] < waiting["working_time_over"]
    assert waiting["working_time_over"] < mixed + 34 * MINUTE  # the chart's 33 min at 20 degC
    assert told() == []


def test_a_reminder_is_told_once_when_it_is_due(planned: ProvedRepair) -> None:
    """However often the work is done, the crew reads it once in its inbox."""
    post(planned, "mixing_started", now() - MINUTE)
    work_until(now())
    at = due()["working_time_running_out"]

    work_until(at - timedelta(seconds=1))
    before = told()
    work_until(at)
    work_until(at + timedelta(seconds=1))

    assert before == []
    assert told() == ["working_time_running_out"]
    notice = Notice.objects.get()
    assert (notice.crew, notice.repair) == (planned.crew, planned.repair)
    inbox = with_token(planned.lead).get(f"{API}/notices").json()["results"]
    assert [row["code"] for row in inbox] == ["working_time_running_out"]


def test_inflating_calls_off_the_working_time_and_schedules_the_cure(
    planned: ProvedRepair,
) -> None:
    """Once the sleeve is under pressure other things are to be told."""
    inflated = now() - MINUTE
    post(planned, "mixing_started", inflated - 18 * MINUTE)
    post(planned, "inflated", inflated)
    work_until(now())

    waiting = due()

    assert set(waiting) == {"cure_best_reached", "hold_until_reached", "temperature_log_quiet"}
    assert waiting["hold_until_reached"] >= inflated + 105 * MINUTE  # the chart's own time


def test_a_correction_moves_the_reminder(planned: ProvedRepair) -> None:
    """Inflated ten minutes later than first reported is free ten minutes later."""
    inflated = now() - 15 * MINUTE
    post(planned, "mixing_started", inflated - 18 * MINUTE)
    wrong = post(planned, "inflated", inflated)
    work_until(now())
    first = due()["hold_until_reached"]

    post(planned, "inflated", inflated + 10 * MINUTE, corrects=wrong)
    work_until(now())

    moved = due()["hold_until_reached"] - first
    assert abs(moved - 10 * MINUTE) <= MINUTE
    assert WorkItem.objects.filter(kind=REMIND, state=WorkItem.State.CANCELLED).exists()


def test_deflating_calls_everything_off(planned: ProvedRepair) -> None:
    """When it is over nobody is reminded any more."""
    inflated = now() - 130 * MINUTE
    post(planned, "mixing_started", inflated - 18 * MINUTE)
    post(planned, "inflated", inflated)
    post(planned, "deflated", now() - MINUTE)
    work_until(now())

    assert due() == {}
    work_until(now() + timedelta(hours=5))
    assert "hold_until_reached" not in told()


def test_a_reminder_is_not_told_when_the_facts_changed(planned: ProvedRepair) -> None:
    """A timer that fires although nobody called it off asks the events, and stays silent."""
    post(planned, "mixing_started", now() - 2 * MINUTE)
    work_until(now())
    at = due()["working_time_over"]
    post(planned, "inflated", now() - MINUTE)
    # The recalculation is lost; only the reminder itself comes up.
    WorkItem.objects.exclude(kind=REMIND).update(state=WorkItem.State.DONE)

    work_until(at)

    assert told() == []


def test_a_reminder_that_came_too_early_is_not_told(planned: ProvedRepair) -> None:
    """The clocks are asked anew; what they do not say yet is not told."""
    post(planned, "mixing_started", now() - MINUTE)
    work_until(now())
    WorkItem.objects.filter(kind=REMIND).update(due_at=now())

    work_until(now() + timedelta(seconds=1))

    assert told() == []


def test_yesterdays_reminder_is_of_no_use(planned: ProvedRepair) -> None:
    """A phone that was offline for a day brings no late alarm."""
    post(planned, "mixing_started", now() - timedelta(hours=4))
    post(planned, "arrived", now() - timedelta(hours=5))
    work_until(now())

    assert told() == []
    assert due() == {}


def test_nothing_is_reminded_without_a_clock(planned: ProvedRepair) -> None:
    """Before mixing there is nothing to wait for."""
    post(planned, "arrived", now() - MINUTE)
    work_until(now())

    subject = str(planned.repair.id)
    assert bring_in_line(source=REPAIR, subject_id=subject, now=now()) == ()
    assert due() == {}


def test_the_clock_is_right_although_no_task_has_run(planned: ProvedRepair) -> None:
    """Asked at the door, both clocks are computed from the events at that moment."""
    inflated = now() - 20 * MINUTE
    post(planned, "mixing_started", inflated - 18 * MINUTE)
    post(planned, "inflated", inflated)

    clock = with_token(planned.lead).get(f"{API}/repairs/{planned.repair.id}/clock").json()

    hold = datetime.fromisoformat(clock["cure"]["hold_until"])
    assert clock["cure"]["status"] == "running"
    assert hold >= inflated + 105 * MINUTE
    assert "never shortens the maker's cure chart" in clock["caution"]


def test_all_reminders_can_be_written_anew(planned: ProvedRepair) -> None:
    """After a restored backup: the waiting ones are there again, nothing is told twice."""
    post(planned, "mixing_started", now() - MINUTE)
    work_until(now())
    at = due()["working_time_running_out"]
    work_until(at)
    before = due()
    WorkItem.objects.filter(kind=REMIND, state=WorkItem.State.DUE).delete()

    call_command("bring_reminders_in_line", stdout=StringIO())
    work_until(at)

    assert due() == before
    assert told() == ["working_time_running_out"]


def test_a_notice_goes_with_the_repair_to_another_crew(planned: ProvedRepair) -> None:
    """Whoever has the repair now reads what was told to those who had it before."""
    post(planned, "mixing_started", now() - MINUTE)
    work_until(now())
    work_until(due()["working_time_over"])
    lead = CrewMemberFactory(lead=True)
    planned.repair.assignments.update(crew=lead.crew)

    bring_in_line(source=REPAIR, subject_id=str(planned.repair.id), now=now() + 34 * MINUTE)

    inbox = with_token(lead.account).get(f"{API}/notices").json()["results"]
    assert "working_time_over" in [row["code"] for row in inbox]
