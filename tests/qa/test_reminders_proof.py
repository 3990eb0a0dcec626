"""What is missing is told while the crew can still do something about it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.reminder import Reminder, Rung, ask
from dispatch.models import Notice
from dispatch.services.remind import REMIND, bring_in_line
from duework.models import WorkItem
from duework.runner import run_due
from qa.domain.reminders_proof import TABLE, Answer, ProofFacts, Rework, Unanswered
from qa.models import CloseoutPackage
from qa.services.ask_proof import PROOF
from repairs.models import Repair
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import now
from tests.field_sequence import carried, event
from tests.proof_factories import CloseoutPackageFactory
from tests.proved_repair import ProvedRepair, a_planned_repair, report

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
NOTHING = ProofFacts(
    ready_to_mix_at=None,
    finished_at=None,
    missing_before_mixing=(),
    missing=(),
    unanswered=None,
    answer=None,
)
WAITS = Unanswered(
    id="p-1",
    name="the closeout package p.zip of order WO-1",
    page="https://repairs.example/packages/p-1",
    since=NOON,
    until=NOON + timedelta(days=14),
    until_words="2026-12-09 13:00 (UTC+01:00)",
    remind_before=timedelta(days=4),
)


def asked(**known: object) -> dict[str, Reminder]:
    """Return what the proof asks for, by code."""
    facts = replace(NOTHING, **known)  # type: ignore[arg-type]
    return {each.code: each for each in ask(TABLE, facts, NOON)}


def test_where_all_is_handed_in_nothing_is_asked() -> None:
    """However far the work is."""
    assert asked(ready_to_mix_at=NOON, finished_at=NOON) == {}


def test_what_is_missing_is_named_while_the_crew_is_there() -> None:
    """Five minutes after the last step, in one sentence, of use for two hours."""
    found = asked(finished_at=NOON, missing=("filmed after the repair", "photo of the lot labels"))

    notice = found["evidence_missing_on_site"]
    assert notice.due_at == NOON + 5 * MINUTE
    assert notice.useful_until == NOON + timedelta(hours=2)
    assert notice.words == (
        "Before you leave: 2 not handed in yet: filmed after the repair; photo of the lot labels."
    )


def test_what_cannot_be_made_up_for_is_named_before_mixing() -> None:
    """Once the sleeve is in nobody can film the defect any more."""
    found = asked(ready_to_mix_at=NOON, missing_before_mixing=("filmed before the repair",))

    assert found["proof_missing_before_mixing"].due_at == NOON + MINUTE


def test_the_client_is_asked_when_the_contracts_time_is_over() -> None:
    """Fourteen days after it had the package."""
    found = asked(unanswered=WAITS)["client_has_not_answered"]

    assert (found.due_at, found.to) == (NOON + timedelta(days=14), Rung.DISPATCHER)


def test_the_client_itself_is_reminded_before_that() -> None:
    """Four days before the end, of use until then, with what, until when and where."""
    found = asked(unanswered=WAITS)["client_answer_due"]

    assert (found.due_at, found.to) == (NOON + timedelta(days=10), Rung.CLIENT)
    assert found.useful_until == NOON + timedelta(days=14)
    assert found.words == (
        "Your answer to the closeout package p.zip of order WO-1 is expected by 2026-12-09 13:00 "
        "(UTC+01:00). Accept it, or return it with reasons: https://repairs.example/packages/p-1"
    )


@pytest.mark.parametrize("days", [0, 14, 15])
def test_a_client_that_has_only_just_been_told_is_not_reminded(days: int) -> None:
    """A lead of nothing, or one that begins before the client has the package."""
    waits = replace(WAITS, remind_before=timedelta(days=days))

    assert list(asked(unanswered=waits)) == ["client_has_not_answered"]


@given(answer_min=st.integers(0, 365 * 24 * 60), lead_min=st.integers(0, 365 * 24 * 60))
def test_a_reminder_lies_between_the_package_and_the_end(answer_min: int, lead_min: int) -> None:
    """Whatever a contract says, the client is told after it has the package and before the end."""
    until = NOON + answer_min * MINUTE
    waits = replace(WAITS, until=until, remind_before=lead_min * MINUTE)

    found = asked(unanswered=waits).get("client_answer_due")

    assert (found is not None) == (0 < lead_min < answer_min)
    if found is not None:
        assert NOON < found.due_at < found.useful_until == until


def test_what_the_client_answered_is_told_to_the_office() -> None:
    """Planners and reviewers alike, each answer in its own words, and nobody above them."""
    returned = Answer(False, "the package of attempt 1", NOON, ": Film after: too dark")
    accepted = replace(returned, accepted=True, words="")

    (back,) = asked(answer=returned).values()
    (taken,) = asked(answer=accepted).values()

    assert (back.code, back.to, taken.code, taken.to) == (
        "client_returned",
        Rung.OFFICE,
        "client_accepted",
        Rung.OFFICE,
    )
    assert back.words == (
        "The client returned the package of attempt 1: Film after: too dark. "
        "The repair is open again."
    )
    assert taken.words == "The client accepted the package of attempt 1."


def test_what_is_to_be_done_again_is_told_to_the_dispatcher() -> None:
    """At once, with what was decided and why: it has neither prescription nor crew."""
    why = "rework, because attempt 1 was not as required: a fold"

    (told,) = asked(rework=Rework(NOON, why)).values()

    assert (told.code, told.to, told.due_at) == ("rework_waits", Rung.DISPATCHER, NOON)
    assert told.words == f"To be done again ({why}). Prescribe it and send a crew."


def work_until(moment: datetime) -> None:
    """Do everything that is due by then."""
    while run_due(now=moment):
        pass


def of_proof(repair: Repair) -> list[Notice]:
    """Return what was told of a repair's proof."""
    return list(Notice.objects.filter(source=PROOF, repair=repair))


@pytest.fixture
def packing_up(db: None) -> ProvedRepair:  # noqa: ARG001 - rows need the database
    """Return a repair whose crew has filmed it, handed in nothing, and not left."""
    planned = a_planned_repair()
    contract = planned.repair.work_order.requirement_set
    contract.escalation = {
        "steps": [{"to": "crew lead", "after_min": 0}, {"to": "dispatcher", "after_min": 5}],
        "source": "invented for tests, without quiet hours",
    }
    contract.save()
    report(planned, skip=frozenset({"left"}))
    work_until(now())
    return planned


def post(planned: ProvedRepair, kind: str) -> None:
    """Report a step of a minute ago."""
    data = carried(planned.repair, lot=planned.lot, packer="x", masses=(1.0, 1.0))[kind]
    sent = event(planned.repair.id, kind, now() - MINUTE, data)
    told = {"Device-Time": now().isoformat()}
    assert post_event(with_token(planned.lead), sent, **told).status_code == 201


def test_a_crew_that_packs_up_reads_what_is_missing(packing_up: ProvedRepair) -> None:
    """Every film, photo and log of the contract, in its inbox; what is proved is not named."""
    (notice,) = of_proof(packing_up.repair)

    assert (notice.code, notice.crew) == ("evidence_missing_on_site", packing_up.crew)
    for title in ("filmed after the repair", "photo of the lot labels", "filmed before"):
        assert title in notice.words
    assert "packer fits" not in notice.words
    inbox = with_token(packing_up.lead).get(f"{API}/notices").json()["results"]
    assert notice.words in [row["words"] for row in inbox]


def test_when_the_crew_has_left_it_is_settled(packing_up: ProvedRepair) -> None:
    """Nobody asks a crew on the road; the office has its list of what is missing."""
    post(packing_up, "left")
    work_until(now())

    (notice,) = of_proof(packing_up.repair)
    assert notice.settled_at is not None


def test_what_was_handed_in_is_named_no_more(packing_up: ProvedRepair) -> None:
    """A requirement let go by the client leaves the sentence; the notice stays the same."""
    (before,) = of_proof(packing_up.repair)
    body = {
        "requirement": "lot_label_photo",
        "name": "Invented Engineer",
        "role": "engineer",
        "reason": "invented",
    }
    address = f"{API}/repairs/{packing_up.repair.id}/waivers"
    assert signed_in(packing_up.reviewer).post(address, body).status_code == 201
    work_until(now())

    (after,) = of_proof(packing_up.repair)
    assert after.id == before.id
    assert "photo of the lot labels" in before.words
    assert "photo of the lot labels" not in after.words


@pytest.mark.django_db
def test_before_mixing_the_crew_is_asked_for_the_film_of_the_defect() -> None:
    """The hold test is reported, and nothing handed in."""
    planned = a_planned_repair()
    post(planned, "hold_test_done")
    work_until(now())

    rows = WorkItem.objects.filter(kind=REMIND, subject_type=PROOF)
    assert [row.payload["code"] for row in rows] == ["proof_missing_before_mixing"]


@pytest.mark.django_db
def test_the_clients_answer_calls_the_reminder_off() -> None:
    """The client's is due ten days on, the office's fourteen; answered before, nothing is told."""
    package = CloseoutPackageFactory(ready_at=now() - timedelta(days=1))
    repair = package.closing.repair
    bring_in_line(source=PROOF, subject_id=str(repair.id), now=now())
    items = WorkItem.objects.filter(kind=REMIND, subject_type=PROOF)
    waiting = {item.payload["code"]: item for item in items}
    ready = CloseoutPackage.objects.get().ready_at
    assert sorted(waiting) == ["client_answer_due", "client_has_not_answered"]
    assert waiting["client_answer_due"].due_at >= ready + timedelta(days=10)
    assert waiting["client_has_not_answered"].due_at >= ready + timedelta(days=14)

    repair.attempt += 1  # as a return does
    repair.save()
    bring_in_line(source=PROOF, subject_id=str(repair.id), now=now())

    assert {item.state for item in items.all()} == {WorkItem.State.CANCELLED}
