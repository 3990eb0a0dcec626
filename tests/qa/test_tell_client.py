"""The client's people are told that a package is ready: each once, nobody else, nothing lost."""

import hashlib
import json
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.test import Client

from dispatch.channels import resting
from duework import failpoints
from duework.models import WorkItem
from duework.runner import run_due
from qa.closeout.bag import WrittenBag
from qa.models import CloseoutPackage, CollectedPackage, PackageLink, PackageMessage
from qa.sealed_files import package_path
from qa.services import build_package, tell_client
from qa.services.build_package import publish
from qa.services.collect import publish_collection
from qa.services.share_package import LONGEST_H, call_back
from qa.services.tell_client import ATTEMPTS, TELL_CLIENT
from repairs.domain.roles import Role
from repairs.models import Account
from tests.dispatch.gateway import Gateway, gateway
from tests.factories import AccountFactory, now
from tests.finished_package import a_package
from tests.page_reader import client_of, look
from tests.proof_factories import CollectedPackageFactory, ContactFactory

pytestmark = pytest.mark.django_db
BYTES = b"invented zip"
SHA256 = hashlib.sha256(BYTES).hexdigest()


class DiedError(BaseException):
    """The process ends here, as if the power had gone."""


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


def a_bag(sha256: str = SHA256) -> WrittenBag:
    """Return what was built."""
    return WrittenBag(sha256=sha256, size=len(BYTES), names=(), tagmanifest_sha256="")


def ready(account: Account) -> CloseoutPackage:
    """Return a package of the account's town that becomes ready now, with its bytes."""
    package = a_package(account, ready_at=None)
    path = package_path(package.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(BYTES)
    publish(package_id=package.pk, bag=a_bag(), now=now())
    package.refresh_from_db()
    return package


def work(after: timedelta = timedelta(0)) -> None:
    """Do what is due by then."""
    moment = now() + after
    while run_due(now=moment):
        pass


def events(receiver: Gateway) -> list[dict[str, Any]]:
    """Return what came, as events."""
    return [json.loads(body) for _, body in receiver.came]


def fetch(address: str) -> bytes:
    """Follow a link as somebody without an account."""
    answer = Client().get(address.partition("8000")[2])
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def test_each_address_of_the_clients_people_is_told_with_a_link_of_its_own(
    client_user: Account, receiver: Gateway, settings: Any
) -> None:
    """Two people, three addresses: each message leads to the very bytes, by another link."""
    settings.EMAIL_HOST = "mail.example"
    other = AccountFactory(role=Role.CLIENT.value, customer=client_user.customer)
    ContactFactory(account=client_user, address=receiver.url)
    ContactFactory(account=other, address=f"{receiver.url}?person=2")
    ContactFactory(account=other, channel="email", address="olga@town.example", secret="")
    AccountFactory(role=Role.CLIENT.value, customer=client_user.customer)  # has no address

    package = ready(client_user)
    work()

    found = events(receiver)
    (letter,) = mail.outbox
    assert [event["type"] for event in found] == ["curewright.package.ready"] * 2
    links = {event["data"]["link"] for event in found}
    assert len(links) == 2
    for event in found:
        assert (
            event["data"]["sha256"]
            == SHA256
            == hashlib.sha256(fetch(event["data"]["link"])).hexdigest()
        )
        assert event["data"]["id"] == str(package.pk)
    assert letter.to == ["olga@town.example"]
    assert SHA256 in letter.body
    (mine,) = [line for line in str(letter.body).splitlines() if "/shared/" in line]
    assert mine not in links
    assert fetch(mine) == BYTES
    assert PackageMessage.objects.filter(sent_at__isnull=True).count() == 0


def test_nobody_else_is_told(client_user: Account, receiver: Gateway) -> None:
    """Another town, the contractor's own people, somebody who left: each has an address."""
    strangers = [
        AccountFactory(role=Role.CLIENT.value, customer=CollectedPackageFactory().customer),
        AccountFactory(role=Role.CLIENT.value, customer=client_user.customer, is_active=False),
        *(AccountFactory(role=role.value) for role in Role if role is not Role.CLIENT),
    ]
    for account in strangers:
        ContactFactory(account=account, address=receiver.url)

    ready(client_user)
    work()

    assert receiver.came == []
    assert not PackageLink.objects.exists()


def test_a_second_publication_tells_nobody_again(client_user: Account, receiver: Gateway) -> None:
    """The builder may run twice after a crash: one link, one message, the same figures."""
    ContactFactory(account=client_user, address=receiver.url)
    package = ready(client_user)
    publish(package_id=package.pk, bag=a_bag("00" * 32), now=now())
    tell_client.tell_client(package=package, now=now())
    work()
    work()

    package.refresh_from_db()
    assert package.sha256 == SHA256
    assert len(receiver.came) == 1
    assert PackageLink.objects.count() == PackageMessage.objects.count() == 1


def test_a_package_that_tells_nobody_is_not_ready(
    client_user: Account, receiver: Gateway, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Dying between the package and its messages leaves neither; the next attempt makes both."""
    ContactFactory(account=client_user, address=receiver.url)

    def dies(**_given: object) -> None:
        raise DiedError

    with monkeypatch.context() as patched:
        patched.setattr(build_package, "tell_client", dies)
        with pytest.raises(DiedError):
            ready(client_user)
    package = CloseoutPackage.objects.get()
    assert package.ready_at is None

    publish(package_id=package.pk, bag=a_bag(), now=now())
    work()

    assert [event["data"]["id"] for event in events(receiver)] == [str(package.pk)]


@pytest.mark.parametrize("place", ["claimed", "prepared", "before_finish", "before_commit"])
def test_a_death_at_any_place_repeats_the_same_message_at_most(
    client_user: Account, receiver: Gateway, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """Before the sending it comes once; after it twice, under one id, byte for byte the same."""
    contact = ContactFactory(account=client_user, address=receiver.url)
    package = ready(client_user)

    def dies(name: str) -> None:
        if name == place and WorkItem.objects.filter(kind=TELL_CLIENT, attempts=1).exists():
            raise DiedError

    with monkeypatch.context() as patched:
        patched.setattr(failpoints, "reach", dies)
        with pytest.raises(DiedError):
            work()
    work(timedelta(hours=1))  # the lease of the dead one is over

    ids = {headers["webhook-id"] for headers, _ in receiver.came}
    assert ids == {f"{TELL_CLIENT}:{package.pk}:{contact.pk}"}
    assert len({body for _, body in receiver.came}) == 1
    assert len(receiver.came) == (1 if place == "claimed" else 2)
    assert PackageLink.objects.count() == 1
    assert PackageMessage.objects.get().sent_at is not None


def test_a_gateway_that_is_mended_tomorrow_gets_the_same_link(
    client_user: Account, receiver: Gateway
) -> None:
    """After eight failures it is not given up: a client's server may be down over a weekend."""
    receiver.status = 500
    ContactFactory(account=client_user, address=receiver.url)
    ready(client_user)
    for hours in range(12):
        work(timedelta(hours=hours))
    item = WorkItem.objects.get(kind=TELL_CLIENT)
    receiver.status = 204
    work(timedelta(hours=24))

    assert (item.state, item.attempts, item.max_attempts) == (WorkItem.State.DUE, 12, ATTEMPTS)
    assert len({event["data"]["link"] for event in events(receiver)}) == 1
    assert PackageMessage.objects.get().sent_at is not None


def test_a_link_called_back_is_not_sent_any_more(client_user: Account, receiver: Gateway) -> None:
    """Nor is anything to an address that was taken away; the link that was made stays told."""
    first = ContactFactory(account=client_user, address=receiver.url)
    ContactFactory(account=client_user, address=f"{receiver.url}?person=2")
    package = ready(client_user)
    message = PackageMessage.objects.exclude(contact=first).get()
    call_back(link=message.link, now=now())
    first.delete()

    work()

    assert receiver.came == []
    items = WorkItem.objects.filter(kind=TELL_CLIENT)
    assert {item.state for item in items} == {WorkItem.State.DONE}
    page = look(client_user, f"/packages/{package.pk}").text
    assert "whose address was taken away since" in page
    assert "Called back on" in page


@pytest.mark.parametrize("change", [{"is_active": False}, {"role": "service", "customer": None}])
def test_whoever_left_meanwhile_is_not_told(
    client_user: Account, receiver: Gateway, change: dict[str, Any]
) -> None:
    """It is asked once more before it goes out."""
    ContactFactory(account=client_user, address=receiver.url)
    ready(client_user)
    Account.objects.filter(pk=client_user.pk).update(**change)

    work()

    assert receiver.came == []


def test_whoever_went_to_another_town_is_not_told(
    client_user: Account, stranger_client: Account, receiver: Gateway
) -> None:
    """The package is of the town it was made for."""
    ContactFactory(account=client_user, address=receiver.url)
    ready(client_user)
    Account.objects.filter(pk=client_user.pk).update(customer=stranger_client.customer)

    work()

    assert receiver.came == []


@pytest.mark.parametrize(("hours", "held"), [(336, 336), (1, 1), (99_999, LONGEST_H)])
def test_the_link_ends_as_the_setting_says(
    client_user: Account, settings: Any, hours: int, held: int
) -> None:
    """Fourteen days where nobody says otherwise, and never longer than any link."""
    settings.CLIENT_LINK_H = hours
    ContactFactory(account=client_user)
    ready(client_user)

    link = PackageLink.objects.get()
    assert link.expires_at - link.made_at == timedelta(hours=held)


def test_a_collected_package_is_told_too(client_user: Account, receiver: Gateway) -> None:
    """With what it holds and a link to the whole; its page shows the link and calls it back."""
    ContactFactory(account=client_user, address=receiver.url)
    row = CollectedPackageFactory(
        customer=client_user.customer,
        members={"packages": [{"id": "x", "answer": ""}], "not_closed": ["REP-9"], "of": "WO-7"},
    )
    path = package_path(row.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(BYTES)
    publish_collection(package_id=row.pk, bag=a_bag(), now=now())
    publish_collection(package_id=row.pk, bag=a_bag(), now=now())
    work()

    (event,) = events(receiver)
    assert event["type"] == "curewright.collection.ready"
    assert (event["data"]["of"], event["data"]["not_closed"]) == ("WO-7", ["REP-9"])
    assert event["data"]["sha256"] == CollectedPackage.objects.get().sha256 == SHA256
    assert fetch(event["data"]["link"]) == BYTES
    text = look(client_user, "/packages").text
    assert "Links to it that went to the client (1)" in text
    assert f"sent to {client_user.display_name} by webhook" in text

    link = PackageLink.objects.get()
    back = client_of(client_user).post(f"/package-links/{link.pk}/call-back")
    assert back["Location"] == "/packages#collected"
    assert Client().get(event["data"]["link"].partition("8000")[2]).status_code == 404


def test_the_packages_page_says_whose_message_holds_a_link(
    client_user: Account, stranger_client: Account, receiver: Gateway
) -> None:
    """Nobody made it: it says to whom it went and when; a stranger calls nothing back."""
    ContactFactory(account=client_user, address=receiver.url)
    package = ready(client_user)
    page = f"/packages/{package.pk}"
    waiting = look(client_user, page).text
    work()
    sent = look(client_user, page).text
    link = PackageLink.objects.get()
    strange = client_of(stranger_client).post(f"/package-links/{link.pk}/call-back")

    whom = client_user.display_name
    assert (
        f"made for {whom}, not sent yet by webhook to {receiver.url}: it is on its way" in waiting
    )
    assert f"sent to {whom} by webhook to {receiver.url}, on" in sent
    assert "The client's answer is expected by" in sent
    assert strange.status_code == 404
    own = client_of(client_user).post(f"/package-links/{link.pk}/call-back")
    assert own["Location"] == f"{page}#share"
    assert PackageLink.objects.get().called_back_at is not None


def test_a_message_that_cannot_be_sent_says_why(client_user: Account, settings: Any) -> None:
    """Where it should go and what is in the way; a password in a query is not shown to others."""
    settings.WEBHOOK_PRIVATE = False
    address = "https://not-there.invalid/told"
    ContactFactory(account=client_user, address=f"{address}?key=secret")
    package = ready(client_user)
    work()
    tried = look(client_user, f"/packages/{package.pk}").text
    WorkItem.objects.filter(kind=TELL_CLIENT).update(state=WorkItem.State.DEAD)
    given_up = look(client_user, f"/packages/{package.pk}").text

    why = f"not sent yet by webhook to {address}?...: not-there.invalid is not found"
    assert f"{why}; it is tried again" in tried
    assert "Links that went out by message (1, 1 not sent)" in tried
    assert "secret" not in tried
    assert why in given_up
    assert "it is tried again" not in given_up


def test_many_messages_do_not_push_the_answer_down(client_user: Account) -> None:
    """They are folded, below what the client is asked for."""
    for _ in range(9):
        ContactFactory(account=client_user)
    package = ready(client_user)

    text = look(client_user, f"/packages/{package.pk}").text

    folded = text.index("Links that went out by message (9, 9 not sent)")
    assert text.index("Your answer") < text.index("What was to be proved") < folded
