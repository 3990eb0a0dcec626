"""From closing to the client's answer over real webhooks: told, fetched, reminded, settled."""

import hashlib
import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from standardwebhooks.webhooks import Webhook

from dispatch.channels import resting
from dispatch.models import Notice
from duework.runner import run_due
from qa.models import CloseoutPackage, PackageLink
from qa.services.ask_proof import PROOF
from repairs.domain.roles import Role
from repairs.models import Account
from tests.callers import API, signed_in
from tests.dispatch.gateway import Gateway, gateway
from tests.factories import AccountFactory, CustomerFactory, now
from tests.proof_factories import ContactFactory
from tests.proved_repair import ProvedRepair, a_proved_repair

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
A_MOMENT = timedelta(minutes=2)
"""Reminders stand on the next full minute."""


class Told:
    """A proved repair, its client, and who hears what: each by an address of their own."""

    def __init__(self, proved: ProvedRepair, client: Account, receiver: Gateway) -> None:
        self.proved, self.client, self.receiver = proved, client, receiver
        contract = proved.repair.work_order.requirement_set
        contract.escalation = {
            "steps": [{"to": "dispatcher", "after_min": 0}, {"to": "on call", "after_min": 5}],
            "source": "invented for tests, without quiet hours",
        }
        contract.save()
        made = signed_in(client).post(
            f"{API}/contacts", {"channel": "webhook", "address": f"{receiver.url}?person=client"}
        )
        self.secret = made.json()["secret"]
        stranger = AccountFactory(role=Role.CLIENT.value, customer=CustomerFactory())
        for name, account in {
            "stranger": stranger,
            "dispatcher": proved.dispatcher,
            "reviewer": proved.reviewer,
            "crew": proved.lead,
        }.items():
            ContactFactory(account=account, address=f"{receiver.url}?person={name}")

    def close(self) -> CloseoutPackage:
        """Close the repair and have its package built."""
        answer = signed_in(self.proved.reviewer).post(
            f"{API}/repairs/{self.proved.repair.id}/close"
        )
        assert answer.status_code == 201, answer.json()
        work_until(now())
        return CloseoutPackage.objects.get(pk=answer.json()["package"])

    def answer(self, package: CloseoutPackage, **body: Any) -> None:
        """Answer the package as its client."""
        answer = signed_in(self.client).post(f"{API}/packages/{package.pk}/answer", body)
        assert answer.status_code == 201, answer.json()
        work_until(now() + A_MOMENT)

    def heard(self) -> dict[str, list[str]]:
        """Return who heard what so far: kinds of packages, codes of notices."""
        found: dict[str, list[str]] = {}
        for path, body in zip(self.receiver.paths, self.receiver.came, strict=True):
            event = json.loads(body[1])
            said = event["data"].get("code", event["type"])
            found.setdefault(path.partition("person=")[2], []).append(said)
        return found


@pytest.fixture
def told(tmp_path: Path, settings: Any) -> Iterator[Told]:
    """Return a repair that may be closed."""
    settings.WEBHOOK_PRIVATE, settings.WEBHOOK_TIMEOUT_S = True, 1
    resting.forget()
    customer = CustomerFactory()
    client = AccountFactory(role=Role.CLIENT.value, customer=customer)
    proved = a_proved_repair(tmp_path, customer=customer)
    with gateway() as receiver:
        yield Told(proved, client, receiver)


def work_until(moment: Any) -> None:
    """Do everything that is due by then."""
    while run_due(now=moment):
        pass


def test_the_client_is_told_fetches_the_very_zip_and_accepts(told: Told) -> None:
    """Signed by the secret its contact was given; the answer ends all asking and is told back."""
    package = told.close()
    ((headers, body),) = told.receiver.came
    event = Webhook(told.secret).verify(body, headers)
    data = event["data"]
    answer = Client().get(data["link"].partition("8000")[2])
    got = b"".join(answer.streaming_content)

    assert told.heard() == {"client": ["curewright.package.ready"]}
    assert data["id"] == str(package.pk)
    assert hashlib.sha256(got).hexdigest() == data["sha256"] == package.sha256
    assert len(got) == data["size_bytes"]
    shown = signed_in(told.client).get(f"{API}/packages/{package.pk}").json()
    assert data["answer_by"][:19] == shown["answer_by"][:19]

    told.answer(package, answer="accepted", note="Thank you.")
    work_until(now() + 30 * DAY)

    assert told.heard() == {
        "client": ["curewright.package.ready"],
        "dispatcher": ["client_accepted"],
        "reviewer": ["client_accepted"],
    }
    notice = Notice.objects.get(source=PROOF, code="client_accepted")
    assert notice.words == "The client accepted the package of attempt 1: Thank you."


def test_a_client_that_waits_is_reminded_and_its_answer_settles_it(told: Told) -> None:
    """Ten days on the client hears it, and nobody of the contractor; a return is told to those."""
    package = told.close()
    work_until(package.ready_at + 10 * DAY + A_MOMENT)
    notice = Notice.objects.get(code="client_answer_due")

    assert told.heard() == {"client": ["curewright.package.ready", "client_answer_due"]}
    reminder = json.loads(told.receiver.came[-1][1])["data"]
    assert f"/packages/{package.pk}" in reminder["words"]
    assert reminder["item"] == str(package.pk)
    assert "acknowledge" not in reminder
    assert "crew" not in reminder
    office = signed_in(told.proved.dispatcher)
    inbox = office.get(f"{API}/notices").json()["results"]
    assert "client_answer_due" not in [row["code"] for row in inbox]
    assert "client_answer_due" not in office.get(f"{API}/notices/stream").content.decode()
    assert office.post(f"{API}/notices/{notice.pk}/acknowledge").status_code == 404

    reason = {"requirement": "surface_in_order", "note": "the end\r\nstands off"}
    told.answer(package, answer="returned", reasons=[reason])
    notice.refresh_from_db()
    work_until(now() + 30 * DAY)

    assert notice.settled_at is not None
    heard = told.heard()
    assert heard["dispatcher"] == heard["reviewer"] == ["client_returned"]
    assert heard["client"] == ["curewright.package.ready", "client_answer_due"]
    assert "stranger" not in heard
    assert "crew" not in heard
    back = Notice.objects.get(code="client_returned")
    assert "the end stands off. The repair is open again." in back.words


def test_after_the_deadline_the_dispatcher_asks_and_the_client_is_left_alone(told: Told) -> None:
    """The reminder of the client is of no use any more; the ladder climbs as ever."""
    package = told.close()
    for days in (10, 14):
        work_until(package.ready_at + days * DAY + A_MOMENT)

    assert told.heard()["dispatcher"] == ["client_has_not_answered"]
    assert told.heard()["client"] == ["curewright.package.ready", "client_answer_due"]


def test_the_office_sees_at_the_api_to_whom_a_link_went(told: Told) -> None:
    """Nobody made it; it may be called back like any other, not by another town."""
    package = told.close()
    (link,) = signed_in(told.proved.dispatcher).get(f"{API}/packages/{package.pk}/links").json()
    stranger = AccountFactory(role=Role.CLIENT.value, customer=CustomerFactory())
    strange = signed_in(stranger).post(f"{API}/package-links/{link['id']}/call-back")
    back = signed_in(told.client).post(f"{API}/package-links/{link['id']}/call-back")

    assert (link["made_by"], link["sent_to"]) == (None, told.client.display_name)
    assert json.loads(told.receiver.came[0][1])["data"]["link"] == link["address"]
    assert (strange.status_code, back.status_code) == (404, 200)
    assert PackageLink.objects.get().called_back_at is not None
