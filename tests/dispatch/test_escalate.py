"""A reminder climbs the contract's ladder until somebody answers or the facts have settled it."""

from datetime import datetime, timedelta

import pytest

from dispatch.models import Call, Message, Notice
from dispatch.services.ask_repair import REPAIR
from dispatch.services.escalate import ESCALATE, acknowledge, settle
from dispatch.services.remind import bring_in_line
from duework.models import WorkItem
from duework.runner import run_due
from repairs.models import Account
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import now
from tests.field_sequence import carried, event
from tests.proof_factories import ContactFactory, OnCallFactory
from tests.proved_repair import ProvedRepair, a_planned_repair

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def planned(db: None) -> ProvedRepair:  # noqa: ARG001 - rows need the database
    """Return a repair that is assigned, with nothing reported."""
    return a_planned_repair()


def post(planned: ProvedRepair, kind: str, at: datetime) -> None:
    """Report a step as the crew's phone."""
    data = carried(
        planned.repair, lot=planned.lot, packer=planned.packer.serial, masses=(2.0, 1.0)
    )[kind]
    sent = event(planned.repair.id, kind, at, data)
    answer = post_event(with_token(planned.lead), sent, **{"Device-Time": now().isoformat()})
    assert answer.status_code == 201, answer.json()


def work_until(moment: datetime) -> None:
    """Do everything that is due by then, with the clock standing at that moment."""
    while run_due(now=moment):
        pass


def told(code: str = "cure_cannot_tell") -> list[str]:
    """Return the rungs that were told of a reminder, in order."""
    return [call.to for call in Call.objects.filter(notice__code=code)]


def cannot_tell(planned: ProvedRepair) -> Notice:
    """Return a notice of live resin that stays true: under pressure, and a wall too cold."""
    inflated = now() - 20 * MINUTE
    post(planned, "mixing_started", inflated - 18 * MINUTE)
    post(planned, "inflated", inflated)
    cold = {"temperature": {"value": 3, "unit": "degC"}, "where": "pipe_wall"}
    sent = event(planned.repair.id, "temperature_read", now() - MINUTE, cold)
    post_event(with_token(planned.lead), sent, **{"Device-Time": now().isoformat()})
    work_until(now())
    return Notice.objects.get(code="cure_cannot_tell")


def test_it_climbs_while_nobody_answers(planned: ProvedRepair) -> None:
    """Crew lead at once, dispatcher after five minutes, on call after fifteen; each once."""
    notice = cannot_tell(planned)
    OnCallFactory(starts_at=now(), ends_at=now() + timedelta(hours=1))
    at_first = told()

    work_until(notice.sent_at + 4 * MINUTE)
    before = told()
    work_until(notice.sent_at + 6 * MINUTE)
    second = told()
    work_until(notice.sent_at + 16 * MINUTE)
    work_until(notice.sent_at + 40 * MINUTE)

    assert (at_first, before) == (["crew lead"], ["crew lead"])
    assert second == ["crew lead", "dispatcher"]
    assert told() == ["crew lead", "dispatcher", "on call"]


@pytest.mark.parametrize("by", ["lead", "dispatcher"])
def test_an_answer_from_any_client_stops_it(planned: ProvedRepair, by: str) -> None:
    """The crew by its phone or the office by the browser: nobody else is told."""
    notice = cannot_tell(planned)
    client = with_token(planned.lead) if by == "lead" else signed_in(planned.dispatcher)

    answer = client.post(f"{API}/notices/{notice.id}/acknowledge")
    again = client.post(f"{API}/notices/{notice.id}/acknowledge")
    work_until(now() + 40 * MINUTE)

    assert answer.status_code == again.status_code == 200
    assert answer.json()["acknowledged_by"] == getattr(planned, by).username
    assert again.json()["acknowledged_at"] == answer.json()["acknowledged_at"]
    assert told() == ["crew lead"]


def test_the_first_answer_stands(planned: ProvedRepair) -> None:
    """Two press the button: the one who was first takes care of it."""
    notice = cannot_tell(planned)

    acknowledge(notice=notice, by=planned.lead, now=now())
    row = acknowledge(notice=notice, by=planned.dispatcher, now=now())

    assert row.acknowledged_by == planned.lead


def test_facts_that_change_settle_it(planned: ProvedRepair) -> None:
    """The packer is let go: nobody further up is woken for a cure that is over."""
    notice = cannot_tell(planned)

    post(planned, "deflated", now())
    work_until(now())
    work_until(now() + 40 * MINUTE)

    notice.refresh_from_db()
    assert notice.settled_at is not None
    assert told() == ["crew lead"]
    assert not WorkItem.objects.filter(kind=ESCALATE, state=WorkItem.State.DUE).exists()


def test_the_ladder_asks_the_facts_itself(planned: ProvedRepair) -> None:
    """Although the refresh is lost, the next rung is not told what is not true any more."""
    notice = cannot_tell(planned)
    post(planned, "deflated", now())
    WorkItem.objects.exclude(kind=ESCALATE).update(state=WorkItem.State.DONE, lease_token=None)

    work_until(now() + 6 * MINUTE)

    notice.refresh_from_db()
    assert told() == ["crew lead"]
    assert notice.settled_at is not None


def test_a_contract_sets_its_own_ladder(planned: ProvedRepair) -> None:
    """Straight to the dispatcher, and after two minutes to whoever is on call."""
    contract = planned.repair.work_order.requirement_set
    contract.escalation = {
        "steps": [{"to": "dispatcher", "after_min": 0}, {"to": "on call", "after_min": 2}],
        "source": "invented for tests",
    }
    contract.save()
    notice = cannot_tell(planned)

    work_until(notice.sent_at + 3 * MINUTE)

    assert told() == ["dispatcher", "on call"]


def test_each_address_of_a_rung_gets_one_message(planned: ProvedRepair) -> None:
    """The lead's two addresses now, the dispatcher's later; who is on call as well once only."""
    ContactFactory.create_batch(2, account=planned.lead)
    ContactFactory(account=planned.dispatcher)
    OnCallFactory(account=planned.dispatcher)
    notice = cannot_tell(planned)
    first = Message.objects.count()

    work_until(notice.sent_at + 20 * MINUTE)

    assert first == 2
    assert Message.objects.filter(contact__account=planned.dispatcher).count() == 1


def test_where_nobody_is_on_call_the_office_stands_in(
    planned: ProvedRepair, administrator: Account
) -> None:
    """A rota with a hole in it does not swallow a reminder."""
    ContactFactory(account=administrator)
    notice = cannot_tell(planned)

    work_until(notice.sent_at + 16 * MINUTE)

    assert [row.contact.account for row in Message.objects.all()] == [administrator]


def test_without_a_crew_the_dispatcher_is_told_first(planned: ProvedRepair) -> None:
    """A cancelled assignment leaves nobody in the street to ask; here nobody sleeps at night."""
    contract = planned.repair.work_order.requirement_set
    contract.escalation = {"steps": [{"to": "dispatcher", "after_min": 0}], "source": "invented"}
    contract.save()
    planned.repair.assignments.update(cancelled_at=now())
    planned.repair.not_after = now() + timedelta(hours=2)
    planned.repair.save()
    post(planned, "loaded_out", now() - MINUTE)
    work_until(now())

    notice = Notice.objects.get(code="window_unused")
    assert (notice.crew, told("window_unused")) == (None, ["dispatcher"])


def test_what_was_answered_stays_answered_when_the_facts_turn_back(planned: ProvedRepair) -> None:
    """Settled for a while, answered meanwhile, true again: nobody further up is told of it."""
    notice = cannot_tell(planned)
    settle(notice=notice, now=now())
    acknowledge(notice=notice, by=planned.lead, now=notice.sent_at + 10 * MINUTE)

    later = notice.sent_at + 11 * MINUTE
    bring_in_line(source=REPAIR, subject_id=str(planned.repair.id), now=later)
    work_until(later + 10 * MINUTE)

    notice.refresh_from_db()
    assert notice.settled_at is None
    assert told() == ["crew lead"]


def test_what_turns_back_unanswered_goes_on_up_the_ladder(planned: ProvedRepair) -> None:
    """Settled before the dispatcher's turn and true again after it: the dispatcher is told."""
    notice = cannot_tell(planned)
    settle(notice=notice, now=now())

    later = notice.sent_at + 11 * MINUTE
    bring_in_line(source=REPAIR, subject_id=str(planned.repair.id), now=later)

    assert told() == ["crew lead", "dispatcher"]
