"""What runs out on a truck is told ahead, to whom it concerns, and moved when it is renewed."""

from datetime import UTC, date, datetime, timedelta

import pytest

from dispatch.domain.reminder import Reminder, Rung, ask
from dispatch.domain.reminders_truck import TABLE, RunsOut, TruckFacts
from dispatch.models import Crew, Notice
from dispatch.services.ask_truck import TRUCK
from dispatch.services.remind import REMIND
from duework.models import WorkItem
from duework.runner import run_due
from repairs.models import Account
from tests.callers import API, signed_in
from tests.factories import CrewMemberFactory, EquipmentFactory, KitStockFactory, LotFactory, now


def told_of(**things: RunsOut) -> list[Reminder]:
    """Return what a truck in CET with these things asks for."""
    given = {name: (thing,) for name, thing in things.items()}
    facts = TruckFacts("CET", **{"kits": (), "gear": (), "certificates": (), **given})
    return list(ask(TABLE, facts, datetime(2026, 1, 1, tzinfo=UTC)))


def test_a_lot_may_be_used_on_its_last_day_there() -> None:
    """Lot until 10 April: told on 27 March, of use until midnight there, an hour later in summer.

    Midnight of 27 March is 23:00 UTC the day before (CET); that after 10 April is 22:00 UTC.
    """
    (found,) = told_of(kits=RunsOut("1", "Lot X", date(2026, 4, 10)))

    assert found.due_at == datetime(2026, 3, 26, 23, tzinfo=UTC)
    assert found.useful_until == datetime(2026, 4, 10, 22, tzinfo=UTC)
    assert "Lot X on the truck may be used until 10 Apr 2026" in found.words


def test_each_is_told_to_whom_it_concerns() -> None:
    """The crew lead sees to the gear, the dispatcher to kits and courses."""
    thing = RunsOut("1", "Invented", date(2026, 4, 10))

    found = {each.code: each.to for each in told_of(kits=thing, gear=thing, certificates=thing)}

    assert found == {
        "kit_expires": Rung.DISPATCHER,
        "test_due": Rung.CREW_LEAD,
        "qualification_expires": Rung.DISPATCHER,
    }


def due(code: str) -> list[datetime]:
    """Return when reminders of a code are due."""
    rows = WorkItem.objects.filter(kind=REMIND, subject_type=TRUCK, state=WorkItem.State.DUE)
    return [row.due_at for row in rows if row.payload["code"] == code]


def work() -> None:
    """Do what is due now."""
    while run_due():
        pass


def test_a_new_test_date_moves_the_reminder(crew: Crew, dispatcher: Account) -> None:
    """The packer came back from its test: the old reminder is off, the next one a year later."""
    packer = EquipmentFactory(crew=crew, test_due_on=now().date() + timedelta(days=40))
    client = signed_in(dispatcher)
    address = f"{API}/equipment/{packer.id}"
    for days in (40, 400):
        day = (now().date() + timedelta(days=days)).isoformat()
        answer = client.patch(address, {"test_due_on": day}, headers={"If-Match": "*"})
        assert answer.status_code == 200, answer.json()
        work()

    (found,) = due("test_due")
    assert found > now() + timedelta(days=380)


def test_two_lots_of_the_same_expiry_are_two_matters(crew: Crew, dispatcher: Account) -> None:
    """Each lot is told by itself; a truck emptied of one is told nothing of it."""
    lots = LotFactory.create_batch(2, expires_on=now().date() + timedelta(days=30))
    client, address = signed_in(dispatcher), f"{API}/crews/{crew.id}/kits"
    for lot in lots:
        client.post(address, {"lot": lot.number, "quantity": 2})
    work()
    both = due("kit_expires")
    client.post(address, {"lot": lots[0].number, "quantity": 0})
    work()

    assert len(both) == 2
    assert len(due("kit_expires")) == 1


@pytest.mark.django_db
def test_a_renewed_certificate_replaces_the_old_one(dispatcher: Account) -> None:
    """Only the newest of a kind counts."""
    member = CrewMemberFactory()
    address = f"{API}/crew-members/{member.id}/qualifications"
    for days in (60, 800):
        day = (now().date() + timedelta(days=days)).isoformat()
        body = {"kind": "gas test", "expires_on": day}
        assert signed_in(dispatcher).post(address, body).status_code == 201
        work()

    (found,) = due("qualification_expires")
    assert found > now() + timedelta(days=700)


def test_what_runs_out_soon_is_told_by_day(crew: Crew, dispatcher: Account) -> None:
    """Entered late, it is told at once, or in the morning: nobody is woken for a lot."""
    lot = LotFactory(expires_on=now().date() + timedelta(days=3))
    KitStockFactory(crew=crew, lot=lot)
    signed_in(dispatcher).post(f"{API}/crews/{crew.id}/kits", {"lot": lot.number, "quantity": 1})
    work()

    while run_due(now=now() + timedelta(hours=12)):
        pass

    notice = Notice.objects.get(code="kit_expires")
    assert lot.number in notice.words
    assert "dispatcher" in {call.to for call in notice.calls.all()}
