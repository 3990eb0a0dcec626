"""Signing in: in plain words, without losing what was typed, and slowly for whoever guesses."""

import pytest
from django.test import Client

from repairs.domain.roles import Role
from repairs.models import Account
from repairs.pages.doors import PEOPLE
from repairs.pages.guessing import MOST_TRIES
from repairs.pages.sign_in import START
from tests.factories import AccountFactory
from tests.page_reader import client_of, look, page_of

PASSWORD = "an invented password"


@pytest.fixture
def person(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return a dispatcher with a password."""
    account = AccountFactory.build(username="Dora")
    account.set_password(PASSWORD)
    account.save()
    return account


def sign_in(client: Client, name: str, password: str, **more: str) -> object:
    """Send the form."""
    return client.post("/login", {"username": name, "password": password, **more})


@pytest.mark.usefixtures("person")
def test_the_right_password_leads_to_the_front_door() -> None:
    """Name and password that belong together open a session, and the way goes on."""
    client = Client()

    answer = sign_in(client, "Dora", PASSWORD)

    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert client.get("/")["Location"] == "/board"


@pytest.mark.usefixtures("person")
def test_a_wrong_password_keeps_the_typed_name() -> None:
    """What is wrong is said in plain words; the name stays, the password does not."""
    page = page_of(sign_in(Client(), "Dora", "another password"), status=422)

    assert "do not belong together" in page.text
    assert page.typed["username"] == "Dora"
    assert page.typed["password"] == ""


@pytest.mark.usefixtures("person")
@pytest.mark.parametrize(
    ("name", "password"),
    [
        ("", PASSWORD),  # no name
        ("Dora", ""),  # no password
        ("Do\x00ra", PASSWORD),  # no database stores that
        ("D" * 151, PASSWORD),  # longer than any name
    ],
)
def test_what_cannot_be_a_sign_in_is_answered_with_words(name: str, password: str) -> None:
    """An empty, too long or unstorable field is asked for again."""
    page = page_of(sign_in(Client(), name, password), status=422)

    assert "Type your name and your password." in page.text


@pytest.mark.usefixtures("person")
def test_a_hostile_name_is_shown_as_text() -> None:
    """Markup in a typed name stays text in its box."""
    hostile = '"><script>alert(1)</script>'

    page = page_of(sign_in(Client(), hostile, "x"), status=422)

    assert page.typed["username"] == hostile


@pytest.mark.usefixtures("person")
def test_guessing_is_slowed_down() -> None:
    """After ten tries a minute even the right password is not looked at."""
    client = Client()
    for _ in range(MOST_TRIES):
        page_of(sign_in(client, "Dora", "a guess"), status=422)

    page = page_of(sign_in(client, "dora", PASSWORD), status=429)

    assert "Wait a minute" in page.text
    assert page.typed["username"] == "dora"


@pytest.mark.usefixtures("person")
def test_guessing_elsewhere_locks_nobody_out() -> None:
    """The name and the address count together."""
    for _ in range(MOST_TRIES + 1):
        sign_in(Client(REMOTE_ADDR="192.0.2.7"), "Dora", "a guess")

    assert sign_in(Client(), "Dora", PASSWORD).status_code == 302


@pytest.mark.usefixtures("person")
@pytest.mark.parametrize(
    ("wanted", "leads_to"),
    [
        ("/packages?state=returned", "/packages?state=returned"),  # where somebody was going
        ("https://elsewhere.example/board", "/"),  # a trap
        ("//elsewhere.example", "/"),  # the same, shorter
        ("javascript:alert(1)", "/"),  # no address at all
        ("", "/"),
    ],
)
def test_signing_in_leads_on_within_the_house_only(wanted: str, leads_to: str) -> None:
    """The page that was wanted comes next, unless it is another host's."""
    answer = sign_in(Client(), "Dora", PASSWORD, next=wanted)

    assert answer["Location"] == leads_to


def test_whoever_is_not_signed_in_comes_back_after_it() -> None:
    """A closed page sends to the form, with the way back."""
    answer = Client().get("/packages?find=R-1")

    assert answer["Location"] == "/login?next=/packages%3Ffind%3DR-1"
    assert look(None, answer["Location"]).typed["next"] == "/packages?find=R-1"


def test_whoever_is_signed_in_is_not_asked_again(dispatcher: Account) -> None:
    """The form is for strangers."""
    assert client_of(dispatcher).get("/login?next=/board")["Location"] == "/board"


def test_signing_out_ends_the_session(dispatcher: Account) -> None:
    """After signing out the next page asks to sign in."""
    client = client_of(dispatcher)

    assert client.post("/logout")["Location"] == "/login"
    assert client.get("/board")["Location"] == "/login?next=/board"


def test_signing_out_needs_a_button(dispatcher: Account) -> None:
    """A mere link, such as a picture on another site, ends nobody's session."""
    client = client_of(dispatcher)

    assert client.get("/logout").status_code == 405
    assert client.get("/board").status_code == 200


@pytest.mark.usefixtures("person")
def test_a_form_of_another_site_is_refused_in_words() -> None:
    """Without the page's own token nothing is taken, and the answer says what to do."""
    answer = sign_in(Client(enforce_csrf_checks=True), "Dora", PASSWORD)

    assert "Please send it again" in page_of(answer, status=403).text


def test_every_person_has_a_page_to_start_from() -> None:
    """No role of a person is left without its work; a program has none."""
    assert set(START) == PEOPLE


def test_a_program_finds_no_page(service_account: Account) -> None:
    """A service account is told that pages are not for it."""
    assert "Not for your role" in look(service_account, "/", status=403).text


@pytest.mark.django_db
@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CLIENT])
def test_no_browser_keeps_a_copy(role: Role) -> None:
    """A shared phone shows nothing to the next person who presses 'back'."""
    answer = client_of(AccountFactory(role=role.value)).get("/board")

    assert "no-store" in answer["Cache-Control"]
