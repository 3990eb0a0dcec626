"""The board: today at a glance for the office, and for nobody else."""

from datetime import timedelta

import pytest

from repairs.domain.progress import Stage
from repairs.models import Account
from repairs.pages.marks import STAGE_MARKS
from tests.factories import CrewFactory, RepairFactory, now
from tests.live_repair import a_live_repair
from tests.page_reader import client_of, look
from tests.proof_factories import (
    AssignmentFactory,
    ClientAnswerFactory,
    CloseoutPackageFactory,
    FieldEventFactory,
    NonconformanceFactory,
)


@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "administrator"])
def test_the_office_sees_the_board(who: str, request: pytest.FixtureRequest) -> None:
    """Whoever plans, judges or runs the service may look."""
    assert "Crews" in look(request.getfixturevalue(who), "/board").text


@pytest.mark.parametrize("who", ["crew_lead", "crew_member", "client_user", "service_account"])
def test_nobody_else_sees_the_board(who: str, request: pytest.FixtureRequest) -> None:
    """Crews, clients and programs are turned away, in words."""
    page = look(request.getfixturevalue(who), "/board", status=403)

    assert "Not for your role" in page.text


@pytest.mark.django_db
def test_a_stranger_signs_in_first() -> None:
    """Without a session the board leads to the form."""
    assert client_of(None).get("/board")["Location"] == "/login?next=/board"


def test_every_crew_has_a_lane_with_its_assignments(dispatcher: Account) -> None:
    """An assignment of today stands on its crew's lane, with stage and street in words."""
    crew, free = CrewFactory(name="Invented crew A"), CrewFactory(name="Invented crew B")
    repair = RepairFactory(stage=Stage.PREPARED.value, ref="REP-LANE")
    AssignmentFactory(repair=repair, crew=crew)

    page = look(dispatcher, "/board")

    assert f"/repairs/{repair.pk}" in page.links
    assert "REP-LANE prepared" in page.text
    assert repair.run.site.street in page.text
    assert free.name in page.text
    assert "free today" in page.text


@pytest.mark.parametrize(
    ("days", "stands"),
    [
        (0, True),  # today
        (-2, False),  # over
        (2, False),  # still to come
    ],
)
def test_only_today_is_on_the_lanes(dispatcher: Account, days: int, stands: bool) -> None:
    """Yesterday's and tomorrow's work does not stand on today's board."""
    repair = RepairFactory(stage=Stage.ON_SITE.value)
    AssignmentFactory(repair=repair, starts_at=now() + timedelta(days=days))

    assert (f"/repairs/{repair.pk}" in look(dispatcher, "/board").links) is stands


def test_a_cancelled_assignment_is_off_the_board_and_its_repair_waits(dispatcher: Account) -> None:
    """What was taken back from a crew stands among those nobody has."""
    repair = RepairFactory(ref="REP-BACK")
    AssignmentFactory(repair=repair, cancelled_at=now())

    page = look(dispatcher, "/board")

    assert "Nobody has these (1)" in page.text
    assert "REP-BACK" in page.text
    assert "Plan them" in page.text
    assert "free today" in page.text


@pytest.mark.parametrize("stage", [Stage.CLOSED, Stage.ACCEPTED])
def test_what_is_done_waits_for_nobody(dispatcher: Account, stage: Stage) -> None:
    """A closed or accepted repair needs no crew."""
    RepairFactory(stage=stage.value)

    assert "Every repair has its crew." in look(dispatcher, "/board").text


def test_a_returned_repair_waits_again_although_its_first_attempt_had_a_crew(
    dispatcher: Account,
) -> None:
    """The new attempt has no crew yet."""
    repair = RepairFactory(stage=Stage.RETURNED.value, attempt=2)
    AssignmentFactory(repair=repair, attempt=1)

    assert "Nobody has these (1)" in look(dispatcher, "/board").text


@pytest.mark.parametrize(
    ("kinds", "word"),
    [(("withdrawn", "filmed"), "filmed"), (("filmed", "closed", "returned"), "returned")],
)  # begun anew by the contractor's own decision, or by the client
def test_what_a_crew_did_today_says_how_far_its_own_attempt_came(
    dispatcher: Account, kinds: tuple[str, ...], word: str
) -> None:
    """Attempt 2 is under way; the row of attempt 1 tells what became of that one."""
    repair = RepairFactory(stage=Stage.ON_SITE.value, attempt=2)
    AssignmentFactory(repair=repair, attempt=1, starts_at=now(), ends_at=now() + timedelta(hours=3))
    for kind in kinds:
        FieldEventFactory(repair=repair, attempt=1, kind=kind)

    assert f"{repair.ref} {word}" in look(dispatcher, "/board").text


@pytest.mark.django_db
def test_live_resin_stands_first_with_its_working_time() -> None:
    """From mixing on the board says until when the sleeve must be inflated."""
    live = a_live_repair(until="wet_out_done", ago_min=2)

    page = look(live.dispatcher, "/board")

    assert page.text.index("Resin is live") < page.text.index("Crews")
    assert "Inflate before" in page.text
    assert "min left" in page.text
    assert f"/repairs/{live.repair.pk}" in page.links


@pytest.mark.django_db
def test_a_cure_says_until_when_to_hold() -> None:
    """Under pressure the board shows the release, never a best guess as one."""
    live = a_live_repair(until="inflated", ago_min=30, wall_c=20)

    page = look(live.dispatcher, "/board")

    assert "not before" in page.text
    assert "Hold until" in page.text
    assert "that releases nothing" in page.text


def test_what_has_to_be_decided_is_counted(dispatcher: Account) -> None:
    """Open nonconformances stand there; decided and withdrawn ones do not."""
    NonconformanceFactory(words="an open one")
    NonconformanceFactory(words="a withdrawn one", withdrawn_at=now())
    NonconformanceFactory(words="a decided one", disposition="rework")

    page = look(dispatcher, "/board")

    assert "Nonconformances to decide (1)" in page.text
    assert "An open one." in page.text
    assert "decided one" not in page.text


def test_packages_that_wait_for_the_client_are_counted(dispatcher: Account) -> None:
    """Built and unanswered ones wait; answered ones and those being built do not."""
    waiting = CloseoutPackageFactory(ready_at=now() - timedelta(days=3))
    ClientAnswerFactory(package__ready_at=now())
    CloseoutPackageFactory()

    page = look(dispatcher, "/board")

    assert "Packages with the client (1)" in page.text
    assert f"/packages/{waiting.pk}" in page.links
    assert "for 3 days" in page.text
    assert "1 being built." in page.text


def test_hostile_words_stay_words(dispatcher: Account) -> None:
    """Markup in what people wrote is shown, not obeyed."""
    hostile = "<script>alert(1)</script>"
    NonconformanceFactory(words=hostile)
    RepairFactory(ref=hostile, on_hold=hostile)

    page = look(dispatcher, "/board")

    assert page.text.count(hostile) >= 3


def test_each_stage_has_a_shape_of_its_own() -> None:
    """Whoever sees no colours still tells every stage from every other."""
    assert set(STAGE_MARKS) == set(Stage)
    assert len(set(STAGE_MARKS.values())) == len(Stage)


@pytest.mark.parametrize(
    ("stage", "hours_over", "stands"),
    [
        ("planned", 1, True),  # nobody went, or nobody said so
        ("planned", -1, False),  # its time is still running
        ("on site", 1, False),  # the crew is there
        ("filmed", 1, False),
    ],
)
def test_a_span_that_ran_out_with_nobody_there_is_listed(
    dispatcher: Account, stage: str, hours_over: int, stands: bool
) -> None:
    """An assignment entered in the past would look planned for ever; it stands here."""
    ends = now() - timedelta(hours=hours_over)
    repair = RepairFactory(ref="REP-OVER", stage=stage)
    AssignmentFactory(repair=repair, starts_at=ends - timedelta(hours=6), ends_at=ends)

    assert ("Planned, and its time is over (1)" in look(dispatcher, "/board").text) is stands


def test_a_cancelled_span_and_an_earlier_attempt_wait_for_nobody(dispatcher: Account) -> None:
    """Neither was left undone."""
    ends = now() - timedelta(days=7)
    repair = RepairFactory(stage="rework", attempt=2)
    times = {"starts_at": ends - timedelta(hours=6), "ends_at": ends}
    AssignmentFactory(repair=repair, attempt=1, **times)
    AssignmentFactory(cancelled_at=now(), cancel_reason="rain", **times)

    assert "its time is over" not in look(dispatcher, "/board").text
