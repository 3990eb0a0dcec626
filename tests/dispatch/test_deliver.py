"""Messages go out at least once under one id; a dead address delays nobody else."""

import json
import socket
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest

from dispatch.channels import resting
from dispatch.models import Contact, Message, Notice
from dispatch.services.escalate import DELIVER, acknowledge
from duework.models import WorkItem
from duework.runner import run_due
from duework.services import schedule
from repairs.models import Account
from tests.dispatch.gateway import Gateway, gateway
from tests.factories import AccountFactory, RepairFactory, now
from tests.proof_factories import ContactFactory, NoticeFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _everybody_is_asked() -> None:
    """Forget who did not answer another test."""
    resting.forget()


@pytest.fixture
def receiver(settings: Any) -> Iterator[Gateway]:
    """Return a receiver that takes everything, in the same house."""
    settings.WEBHOOK_PRIVATE, settings.WEBHOOK_TIMEOUT_S = True, 1
    with gateway() as found:
        yield found


def waiting(contact: Contact, notice: Notice | None = None) -> Message:
    """Return a message to an address, due now."""
    row = Message.objects.create(
        notice=notice or NoticeFactory(), contact=contact, to="crew lead", created_at=now()
    )
    schedule(
        kind=DELIVER,
        subject_type="message",
        subject_id=row.pk,
        dedupe_key=f"{DELIVER}:{row.pk}",
        due_at=now(),
        useful_until=row.notice.useful_until,
    )
    return row


def work() -> None:
    """Do what is due now."""
    while run_due():
        pass


def test_a_message_goes_out_once_under_the_id_of_its_due_work(receiver: Gateway) -> None:
    """However often the work is looked at."""
    row = waiting(ContactFactory(address=receiver.url))

    work()
    work()

    ((headers, _),) = receiver.came
    assert headers["webhook-id"] == f"{DELIVER}:{row.pk}"
    row.refresh_from_db()
    assert row.sent_at is not None


def test_a_dead_address_delays_nobody_else(receiver: Gateway) -> None:
    """The one whose port nobody listens on is tried again later; the other has its message."""
    dead = waiting(ContactFactory(address="http://127.0.0.1:9/"))
    well = waiting(ContactFactory(address=receiver.url))

    work()

    dead.refresh_from_db()
    well.refresh_from_db()
    item = WorkItem.objects.get(dedupe_key=f"{DELIVER}:{dead.pk}")
    assert (dead.sent_at, well.sent_at is not None) == (None, True)
    assert (item.state, item.attempts) == (WorkItem.State.DUE, 1)
    assert item.due_at > now() - timedelta(seconds=1)
    assert "no answer" in item.last_error


def test_a_gateway_that_is_silent_costs_one_time_out(receiver: Gateway) -> None:
    """Five messages to a socket that takes connections and says nothing, one to another."""
    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"http://127.0.0.1:{silent.getsockname()[1]}/?person="
        rows = [waiting(ContactFactory(address=f"{address}{n}")) for n in range(5)]
        well = waiting(ContactFactory(address=receiver.url))
        work()
        silent.settimeout(0.1)
        connections = [silent.accept()]
        with pytest.raises(TimeoutError):
            silent.accept()

    well.refresh_from_db()
    items = WorkItem.objects.filter(subject_id__in=[row.pk for row in rows])
    assert well.sent_at is not None
    assert len(connections) == 1
    assert sorted(item.attempts for item in items) == [0, 0, 0, 0, 1]
    assert {item.state for item in items} == {WorkItem.State.DUE}


def test_after_a_failure_the_same_id_is_sent(receiver: Gateway) -> None:
    """A gateway that was broken gets the message later, and can tell it is the same."""
    receiver.status = 500
    waiting(ContactFactory(address=receiver.url))
    work()
    receiver.status = 204
    WorkItem.objects.filter(kind=DELIVER).update(due_at=now())
    work()

    first, second = (headers["webhook-id"] for headers, _ in receiver.came)
    assert first == second


def test_what_was_acknowledged_is_not_sent(receiver: Gateway) -> None:
    """Somebody takes care of it already."""
    row = waiting(ContactFactory(address=receiver.url))
    acknowledge(notice=row.notice, by=AccountFactory(), now=now())

    work()

    row.refresh_from_db()
    assert receiver.came == []
    assert row.sent_at is None


def test_what_is_of_no_use_any_more_is_put_aside_and_seen(receiver: Gateway) -> None:
    """It stands in the queue as expired."""
    notice = NoticeFactory(useful_until=now() - timedelta(minutes=1))
    waiting(ContactFactory(address=receiver.url), notice)

    work()

    assert receiver.came == []
    assert WorkItem.objects.get(kind=DELIVER).state == WorkItem.State.EXPIRED


def test_an_address_taken_away_gets_nothing_more(receiver: Gateway) -> None:
    """The work finds nobody to send to, and ends."""
    contact = ContactFactory(address=receiver.url)
    waiting(contact)
    contact.delete()

    work()

    assert receiver.came == []
    assert WorkItem.objects.get(kind=DELIVER).state == WorkItem.State.DONE


def test_whoever_has_left_is_told_nothing_more(receiver: Gateway) -> None:
    """The account was closed between the telling and the sending."""
    contact = ContactFactory(address=receiver.url)
    waiting(contact)
    Account.objects.filter(pk=contact.account_id).update(is_active=False)

    work()

    assert receiver.came == []


def test_what_concerns_one_town_is_not_sent_to_another(
    receiver: Gateway, client_user: Account, stranger_client: Account
) -> None:
    """A client's person who works for another town by now hears nothing of the first."""
    notice = NoticeFactory(repair=RepairFactory(customer=client_user.customer))
    for account in (client_user, stranger_client):
        contact = ContactFactory(account=account, address=f"{receiver.url}?{account.username}")
        Message.objects.filter(pk=waiting(contact, notice).pk).update(to="client")

    work()

    assert [path.partition("?")[2] for path in receiver.paths] == [client_user.username]
    (event,) = [json.loads(body) for _, body in receiver.came]
    assert {"crew", "resin_is_live", "acknowledge"}.isdisjoint(event["data"])
