"""Two repairs live at once: the crew's page, the truck, the repair, the board, the phone say so."""

from datetime import timedelta

import pytest

from dispatch.models import Assignment, Crew
from dispatch.pages.crew_day import crew_day
from dispatch.services.assign import cancel_assignment
from repairs.domain.progress import Stage
from repairs.models import Account, Repair
from tests.factories import EquipmentFactory, now
from tests.page_reader import client_of, look
from tests.proof_factories import AssignmentFactory

ORDER = (
    "Set up R-10, drive, set up R-11, drive back, finish R-10, drive back, finish R-11. "
    "Two packers: somebody stays with a live one."
)


@pytest.fixture
def pair(crew: Crew) -> tuple[Assignment, Assignment]:
    """Return two assignments of today, the second set up in the cure of the first."""
    outer = AssignmentFactory(repair__ref="R-10", crew=crew)
    inner = AssignmentFactory(
        repair__ref="R-11",
        crew=crew,
        beside=outer,
        starts_at=outer.starts_at + timedelta(seconds=30),
    )
    return outer, inner


Pair = tuple[Assignment, Assignment]


@pytest.mark.usefixtures("pair")
def test_my_day_says_in_which_order(crew_lead: Account) -> None:
    """One line of order above the cards, the cards in that order, and on each what cures."""
    page = look(crew_lead, "/my-day").text

    assert ORDER in page
    assert page.index(ORDER) < page.index("1. R-10") < page.index("2. R-11")
    assert "While it cures, R-11 is set up." in page
    assert "Set up while R-10 cures." in page


def test_what_stands_alone_says_nothing(pair: Pair, crew_lead: Account) -> None:
    """The outer one is taken back: the other is a repair like any."""
    outer, _ = pair
    cancel_assignment(assignment=outer, reason="invented", by=outer.assigned_by, now=now())

    page = look(crew_lead, "/my-day").text

    assert "R-11" in page
    assert "cures" not in page
    assert "Order of work" not in page


@pytest.mark.usefixtures("pair")
def test_when_both_are_done_there_is_no_order_any_more(crew_lead: Account) -> None:
    """Returned means that nothing of this day is left to do."""
    Repair.objects.update(attempt=2, stage=Stage.RETURNED.value)
    Assignment.objects.update(attempt=2)

    day = crew_day(crew_lead, now=now())

    assert day is not None
    assert [job.done for job in day.jobs] == [True, True]
    assert day.orders == ()


@pytest.mark.usefixtures("pair")
@pytest.mark.parametrize(
    ("packers", "said"),
    [
        (("PK-1", "PK-2"), "each with its own packer: PK-1, PK-2."),
        (("PK-1",), "each with its own packer: only PK-1 on the truck."),
        ((), "each with its own packer: only none on the truck."),
    ],
)
def test_both_packers_go_on_the_truck(
    crew: Crew, crew_lead: Account, packers: tuple[str, ...], said: str
) -> None:
    """One packer is not in two pipes: with fewer than two the list says what is missing."""
    for serial in packers:
        EquipmentFactory(crew=crew, serial=serial)

    day = crew_day(crew_lead, now=now())

    assert day is not None
    assert [line.enough for line in day.load_out.pairs] == [len(packers) > 1]
    assert f"R-10 and R-11 are live at once, {said}" in look(crew_lead, "/my-day").text


@pytest.mark.parametrize("who", ["crew_lead", "dispatcher"])
@pytest.mark.parametrize("at", [0, 1])
def test_the_page_of_each_repair_says_it(
    pair: Pair, who: str, at: int, request: pytest.FixtureRequest
) -> None:
    """Whoever opens either of the two reads the order of both."""
    page = look(request.getfixturevalue(who), f"/repairs/{pair[at].repair_id}").text

    assert ORDER in page
    assert ("Set up while R-10 cures." if at else "While it cures, R-11 is set up.") in page


@pytest.mark.usefixtures("pair")
def test_the_board_draws_both_and_says_which_is_inside(dispatcher: Account) -> None:
    """Each has a row of its own on the lane, so that neither covers the other."""
    response = client_of(dispatcher).get("/board")
    lane = next(each for each in response.context["day"].lanes if each.blocks)

    assert len({block.y for block in lane.blocks}) == 2
    assert all(block.y + 48 <= lane.height for block in lane.blocks)
    assert [block.beside for block in lane.blocks] == ["", "while R-10 cures"]
    assert "set up while R-10 cures" in look(dispatcher, "/board").text


def test_a_crews_phone_is_told(pair: Pair, crew_lead: Account) -> None:
    """In what changed, and in its assignments."""
    outer, _ = pair
    client = client_of(crew_lead)

    changed = {row["ref"]: row for row in client.get("/api/v1/changes").json()["repairs"]}
    given = client.get("/api/v1/assignments").json()["results"]

    assert changed["R-11"]["beside"] == {"id": str(outer.repair_id), "ref": "R-10"}
    assert changed["R-10"]["beside"] is None
    assert {row["repair"]: row["beside"] for row in given} == {
        "R-10": None,
        "R-11": str(outer.pk),
    }
