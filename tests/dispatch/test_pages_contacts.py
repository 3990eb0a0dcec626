"""Where somebody is told: seen, entered and taken away at a page; nobody else's."""

from typing import Any

import pytest

from dispatch.models import Contact
from repairs.models import Account
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import ContactFactory

GATEWAY = {"channel": "webhook", "address": "https://gateway.example/told"}


def test_a_client_finds_it_at_the_head_of_its_pages(client_user: Account) -> None:
    """Nobody has to know an address of the API to be told."""
    assert "/contacts" in look(client_user, "/packages").links
    assert "There is none yet" in look(client_user, "/contacts").text


def test_a_secret_is_shown_once(client_user: Account) -> None:
    """On the answer to whoever has just entered the address, and on no page afterwards."""
    made = page_of(client_of(client_user).post("/contacts", GATEWAY), status=201)
    later = look(client_user, "/contacts")

    row = Contact.objects.get()
    assert (row.account, row.address) == (client_user, GATEWAY["address"])
    assert row.secret in made.text
    assert row.secret not in later.text
    assert GATEWAY["address"] in later.text


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({**GATEWAY, "address": ""}, "Write an address"),
        ({**GATEWAY, "address": "https://10.0.0.5/told"}, "10.0.0.5 leads to a private"),
        ({**GATEWAY, "address": "http://gateway.example/"}, "expected https"),
        ({**GATEWAY, "channel": "pigeon"}, "Choose e-mail or webhook."),
        (
            {"channel": "email", "address": "clara@town.example"},
            "channel: found 'email', expected webhook: no mail server is set here.",
        ),
    ],
)
def test_what_is_wrong_is_said_and_kept(
    client_user: Account, settings: Any, sent: dict[str, str], says: str
) -> None:
    """By its field; what was typed stays in the box, and nothing is stored."""
    settings.EMAIL_HOST = ""

    page = page_of(client_of(client_user).post("/contacts", sent), status=422)

    assert says in page.text
    assert page.typed["address"] == sent["address"]
    assert not Contact.objects.exists()


def test_the_same_again_is_told_and_kept(client_user: Account) -> None:
    """A page that is sent again adds nothing."""
    ContactFactory(account=client_user, **GATEWAY)

    page = page_of(client_of(client_user).post("/contacts", GATEWAY), status=409)

    assert "This address is there already." in page.text
    assert page.typed["address"] == GATEWAY["address"]


def test_one_is_taken_away_and_nobody_elses(client_user: Account, dispatcher: Account) -> None:
    """Another's is not there, also for the office: it has the API for that."""
    own, other = ContactFactory(account=client_user), ContactFactory(account=dispatcher)
    browser = client_of(client_user)

    gone = browser.post(f"/contacts/{own.pk}/take-away")
    not_there = browser.post(f"/contacts/{other.pk}/take-away")

    assert (gone.status_code, gone["Location"], not_there.status_code) == (302, "/contacts", 404)
    assert list(Contact.objects.all()) == [other]
    assert other.address not in look(client_user, "/contacts").text
