"""What waits stands on the pages with one big button, and the button is the end of it."""

import pytest

from dispatch.models import Crew, Notice
from repairs.domain.progress import Stage
from repairs.models import Account
from tests.factories import RepairFactory
from tests.page_reader import client_of, look
from tests.proof_factories import AssignmentFactory, NoticeFactory

WORDS = "Invented: read the wall temperature."


@pytest.fixture
def notice(crew: Crew) -> Notice:
    """Return a notice about live resin of crew one, told to crew lead and dispatcher."""
    repair = RepairFactory(stage=Stage.CURING.value)
    AssignmentFactory(repair=repair, crew=crew)
    return NoticeFactory(crew=crew, repair=repair, words=WORDS, live=True)


def test_it_stands_on_every_page_of_those_it_concerns(
    notice: Notice, crew_lead: Account, dispatcher: Account
) -> None:
    """The crew's day, its repair, the board; with the way to acknowledge it."""
    repair = f"/repairs/{notice.repair_id}"
    for who, address in (
        (crew_lead, "/my-day"),
        (crew_lead, repair),
        (dispatcher, "/board"),
        (dispatcher, repair),
    ):
        page = look(who, address)
        assert WORDS in page.text
        assert "To acknowledge (1)" in page.text
        assert "Got it" in page.text
        assert "Told: crew lead, dispatcher" in page.text
        assert page.typed["back"] == address


def test_a_reviewer_reads_it_and_has_no_button(notice: Notice, reviewer: Account) -> None:
    """Whoever cannot take care of it does not silence it."""
    text = look(reviewer, "/board").text

    assert notice.words in text
    assert "Got it" not in text
    assert "To acknowledge" not in text
    assert "Told, and not acknowledged yet" in text


def test_a_client_reads_nothing_of_it(notice: Notice, client_user: Account) -> None:
    """What a crew is told is the contractor's own."""
    notice.repair.work_order.customer = client_user.customer
    notice.repair.work_order.save()

    assert WORDS not in look(client_user, f"/repairs/{notice.repair_id}").text


def test_the_board_is_silent_until_the_dispatcher_is_told(
    notice: Notice, dispatcher: Account
) -> None:
    """As long as only the crew lead was told, the crew has it."""
    notice.calls.filter(to="dispatcher").delete()

    assert WORDS not in look(dispatcher, "/board").text


def test_the_button_ends_it_and_leads_back(
    notice: Notice, crew_lead: Account, dispatcher: Account
) -> None:
    """Acknowledged on the phone, it is gone from the board; the day still says who has it."""
    answer = client_of(crew_lead).post(f"/notices/{notice.id}/acknowledge", {"back": "/my-day"})

    assert (answer.status_code, answer["Location"]) == (302, "/my-day")
    assert WORDS not in look(dispatcher, "/board").text
    assert "acknowledged by crew-lead" in look(crew_lead, "/my-day").text


@pytest.mark.parametrize(
    "back",
    ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "\\\\x", ""],
)
def test_it_leads_nowhere_else(notice: Notice, crew_lead: Account, back: str) -> None:
    """A form made by somebody else does not take a crew to another house."""
    answer = client_of(crew_lead).post(f"/notices/{notice.id}/acknowledge", {"back": back})

    assert answer["Location"] == "/"


def test_another_crews_notice_is_not_there(notice: Notice, other_crew_lead: Account) -> None:
    """Neither to read nor to silence."""
    answer = client_of(other_crew_lead).post(f"/notices/{notice.id}/acknowledge")

    notice.refresh_from_db()
    assert (answer.status_code, notice.acknowledged_at) == (404, None)
