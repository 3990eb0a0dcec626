"""Judging at the page of a repair: only what is possible is there, and nothing typed is lost."""

import pytest

from qa.models import Closing, Nonconformance, SecondReview, Waiver
from repairs.models import Account, Repair
from tests.factories import AccountFactory, RepairFactory, RequirementSetFactory, now
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import (
    AssignmentFactory,
    EvidenceFactory,
    FieldEventFactory,
    NonconformanceFactory,
)
from tests.proved_repair import ProvedRepair, a_proved_repair
from tests.repair_page import address, refused, sent

PERSON = {"name": "Invented Person", "role": "engineer", "reason": "seen on the film"}
"""Who lets something go."""

CONTRACT = [
    {"code": "wet_out_photo", "source": "invented", "waived_by": ["engineer of the owner"]},
    {"code": "lots_traceable", "source": "invented", "never_waived": True},
    {"code": "film_in_time", "source": "invented"},
    {"code": "second_review", "source": "invented"},
]
"""One that some may let go, one that nobody may, one that no rule can tell, a second look."""


@pytest.fixture
def repair(db: None) -> Repair:  # noqa: ARG001
    """Return a repair of which nothing is proved, under a contract that says who may waive."""
    contract = RequirementSetFactory(name="Invented strict contract", requirements=CONTRACT)
    return RepairFactory(work_order__requirement_set=contract)


@pytest.fixture(scope="module")
def proved_rows(module_rows: None, tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:  # noqa: ARG001
    """Return a repair of which all is proved."""
    return a_proved_repair(tmp_path_factory.mktemp("files"))


@pytest.fixture
def proved(proved_rows: ProvedRepair, db: None) -> ProvedRepair:  # noqa: ARG001
    """Return it as it was; what a test did to it is taken back."""
    proved_rows.repair.refresh_from_db()
    return proved_rows


def test_closing_asks_once_more(proved: ProvedRepair) -> None:
    """The page leads to a question, and only the answer closes."""
    page = look(proved.reviewer, address(proved.repair))
    ask = f"{address(proved.repair)}?sure=close#review"
    assert ask in page.links
    assert "It cannot be taken back." not in page.text

    asked = look(proved.reviewer, ask)
    unsure = refused(proved.reviewer, proved.repair, "close", 422)
    assert not Closing.objects.exists()
    done = sent(proved.reviewer, proved.repair, "close", sure="yes")

    assert f"Close {proved.repair.ref}, attempt 1?" in asked.text
    assert "That you are sure: This field is required." in unsure.text
    assert (done.status_code, done["Location"]) == (302, f"{address(proved.repair)}#review")  # type: ignore[attr-defined]
    assert Closing.objects.get().closed_by == proved.reviewer
    assert "Judge it" not in look(proved.reviewer, address(proved.repair)).text


def test_whoever_took_the_second_look_does_not_close(proved: ProvedRepair) -> None:
    """The only second reviewer is told why, and another one finds the way to close."""
    other = AccountFactory(role="reviewer")
    SecondReview.objects.create(
        repair=proved.repair, attempt=1, reviewer=other, words="all of it",
        reviewed_at=proved.at("left"),
    )  # fmt: skip

    assert "You are the second reviewer" in look(other, address(proved.repair)).text
    assert "somebody else closes it" in refused(other, proved.repair, "close", 403, sure="y").text
    links = look(proved.reviewer, address(proved.repair)).links
    assert f"{address(proved.repair)}?sure=close#review" in links


def test_whoever_installed_is_told_why_not(proved: ProvedRepair) -> None:
    """A reviewer who reported a step sees no form, and a sent one is refused in words."""
    FieldEventFactory(repair=proved.repair, posted_by=proved.reviewer)

    page = look(proved.reviewer, address(proved.repair))
    answer = refused(proved.reviewer, proved.repair, "close", 403, sure="yes")

    assert "Whoever installed does not judge it" in page.text
    assert "name" not in page.typed
    assert "does not judge it; ask another reviewer" in answer.text
    assert not Closing.objects.exists()


def test_a_refused_closing_names_every_reason(repair: Repair, reviewer: Account) -> None:
    """Each requirement that is not proved and each open matter is a line; what is met is none."""
    NonconformanceFactory(repair=repair, code="seen", words="it swayed", found_by_rule=False)

    page = refused(reviewer, repair, "close", 409, sure="yes")

    for words in (
        "Photo of the wet-out sleeve:",
        "To be decided: it swayed.",
        "No second reviewer has looked through it",
    ):
        assert words.lower() in page.text.lower()
    assert "?sure=close" not in " ".join(page.links)
    assert not Closing.objects.exists()


def test_who_may_let_go_is_said_by_the_contract(repair: Repair, reviewer: Account) -> None:
    """A role the contract names is chosen, not typed; what nobody may let go has no form."""
    page = look(reviewer, address(repair))

    assert "By the contract only engineer of the owner may let this go." in page.text
    assert "By the contract nobody may let this go." in page.text
    assert "reason-wet_out_photo" in page.typed
    assert "reason-lots_traceable" not in page.typed


@pytest.mark.parametrize(
    ("typed", "status", "says"),
    [
        ({}, 403, "by the contract only engineer of the owner may waive"),
        ({"requirement": "lots_traceable"}, 403, "the contract lets nobody waive this"),
        ({"name": " "}, 422, "Who lets it go: This field is required."),
        ({"name": "n" * 151}, 422, "Who lets it go:"),
        ({"requirement": "lunch"}, 422, "expected one of wet_out_photo"),
    ],
)
def test_a_refused_waiver_keeps_what_was_typed(
    repair: Repair, reviewer: Account, typed: dict[str, str], status: int, says: str
) -> None:
    """What is wrong is said, nothing is stored, and the words are still there if they have room."""
    typed = {"requirement": "wet_out_photo", **PERSON, **typed}
    page = refused(reviewer, repair, "waive", status, **typed)

    assert says in page.text
    room = f"reason-{typed['requirement']}"
    assert page.typed.get(room, PERSON["reason"]) == PERSON["reason"]
    assert not Waiver.objects.exists()


def test_a_requirement_is_let_go_at_the_page(repair: Repair, reviewer: Account) -> None:
    """It is stored with name, role and reason; the form is gone and the waiver stands there."""
    answer = sent(reviewer, repair, "waive", requirement="wet_out_photo",
                  **{**PERSON, "role": "engineer of the owner"})  # fmt: skip

    assert answer.status_code == 302  # type: ignore[attr-defined]
    row = Waiver.objects.get()
    assert (row.requirement, row.name, row.judged) == ("wet_out_photo", "Invented Person", False)
    page = look(reviewer, address(repair))
    assert "Let go by Invented Person, engineer of the owner: seen on the film" in page.text
    assert "reason-wet_out_photo" not in page.typed


def test_only_what_no_rule_can_tell_is_judged(repair: Repair, reviewer: Account) -> None:
    """There is a form where the rule cannot tell, none elsewhere; the judgement has one's name."""
    page = look(reviewer, address(repair))
    wrong = refused(reviewer, repair, "judge", 409, requirement="wet_out_photo", reason="fine")
    done = sent(reviewer, repair, "judge", requirement="film_in_time", reason="no deadline")

    assert "judge-film_in_time" in page.typed
    assert "judge-wet_out_photo" not in page.typed
    assert "Only what the rule cannot tell is judged by a person" in wrong.text
    assert done.status_code == 302  # type: ignore[attr-defined]
    assert Waiver.objects.get().judged
    assert f"Judged met by {reviewer.display_name}" in look(reviewer, address(repair)).text


def test_the_second_look_is_recorded_once(repair: Repair, reviewer: Account) -> None:
    """Asked for where the contract wants it, once there is a film, from whoever has not looked."""
    assert "look-words" not in look(reviewer, address(repair)).typed
    early = refused(reviewer, repair, "look", 409, words="all of it")
    assert early.text.count("The film of the finished repair is not there yet") == 2
    assert not SecondReview.objects.exists()
    EvidenceFactory(repair=repair, kind="post_repair_film")
    assert "look-words" in look(reviewer, address(repair)).typed
    empty = refused(reviewer, repair, "look", 422, words=" ")
    sent(reviewer, repair, "look", words="films and log")
    again = refused(reviewer, repair, "look", 409, words="again")

    assert "What you saw:" in empty.text
    assert SecondReview.objects.get().words == "films and log"
    assert "You looked through this attempt already" in again.text
    assert "look-words" not in again.typed


def test_a_dispatcher_decides_and_does_nothing_else(repair: Repair, dispatcher: Account) -> None:
    """Whoever plans sees the nonconformances to decide, no waiver, no closing."""
    assert "Judge it" not in look(dispatcher, address(repair)).text
    row = NonconformanceFactory(repair=repair, words="the rope was frayed")
    typed = {"nonconformance": str(row.pk), "reason": "rope replaced"}

    page = look(dispatcher, address(repair))
    wrong = refused(dispatcher, repair, "decide", 422, disposition="forget it", **typed)
    sent(dispatcher, repair, "decide", disposition="rework", root_cause="age", **typed)
    again = refused(dispatcher, repair, "decide", 409, disposition="rework", **typed)

    assert "reason-wet_out_photo" not in page.typed
    assert f"why-{row.pk}" in page.typed
    assert wrong.typed[f"why-{row.pk}"] == "rope replaced"
    row = Nonconformance.objects.get()
    assert (row.disposition, row.disposition_reason, row.root_cause) == (
        "rework", "rope replaced", "age",
    )  # fmt: skip
    assert row.decided_by == dispatcher
    assert "It was decided already: rework." in again.text
    assert "Decided, and to be carried out" in look(dispatcher, address(repair)).text
    early = refused(dispatcher, repair, "done", 409, nonconformance=str(row.pk))
    assert "nothing was reported or handed in since it was decided" in early.text
    EvidenceFactory(repair=repair, kind="other_photo")
    sent(dispatcher, repair, "done", nonconformance=str(row.pk))
    row.refresh_from_db()
    assert row.done_at is not None
    assert "Decided, and to be carried out" not in look(dispatcher, address(repair)).text


def test_a_decision_names_files_in_plain_words(repair: Repair, reviewer: Account) -> None:
    """By number, kind, name and time; afterwards they stand there as links, with the cause."""
    row = NonconformanceFactory(repair=repair, words="the rope was frayed")
    first = EvidenceFactory(repair=repair, kind="other_photo", file_name="rope.jpg")
    of_row = {"nonconformance": str(row.pk)}

    page = look(reviewer, address(repair))
    sent(
        reviewer, repair, "decide", disposition="rework", reason="rope replaced",
        root_cause="age", evidence=[str(first.pk)], **of_row,
    )  # fmt: skip
    new = EvidenceFactory(repair=repair, kind="other_photo", file_name="new-rope.jpg")
    decided = look(reviewer, address(repair))
    sent(reviewer, repair, "done", evidence=[str(new.pk)], **of_row)
    done = look(reviewer, address(repair))

    assert "1. Other photo, rope.jpg, " in page.text
    assert "2. Other photo, new-rope.jpg, " in decided.text
    row.refresh_from_db()
    assert (row.evidence, row.done_evidence) == ([str(first.pk)], [str(new.pk)])
    assert "It came from: Age." in decided.text
    assert "Shown by 1. Other photo rope.jpg" in decided.text
    assert "Carried out" not in decided.text
    assert "shown by 2. Other photo new-rope.jpg" in done.text
    # Once as evidence, once as what shows the decision.
    assert done.links.count(f"/api/v1/evidence/{new.pk}/file") == 2


@pytest.mark.parametrize("act", ["decide", "done"])
def test_files_that_were_chosen_stay_chosen(repair: Repair, reviewer: Account, act: str) -> None:
    """A refusal takes away no tick, and sets none elsewhere."""
    decided = {} if act == "decide" else {"disposition": "rework"}
    row = NonconformanceFactory(repair=repair, code="rope", **decided)
    other = NonconformanceFactory(repair=repair, code="other", **decided)
    chosen = EvidenceFactory(repair=repair, kind="other_photo")
    EvidenceFactory(repair=repair, kind="other_photo")
    typed = {"nonconformance": str(row.pk), "disposition": "rework", "reason": ""}

    answer = sent(reviewer, repair, act, **typed, attempt="1", evidence=[str(chosen.pk), "no file"])

    html = page_of(answer, status=422) and answer.content.decode()  # type: ignore[attr-defined]
    assert "Files that show it: choose among the files of this repair." in html
    boxes = [line for line in html.splitlines() if 'name="evidence"' in line]
    ticked = [part for line in boxes for part in line.split("<li>") if " checked" in part]
    assert len(ticked) == 1
    assert str(chosen.pk) in ticked[0]
    other.refresh_from_db()
    assert other.evidence == []


def test_a_file_of_another_repair_shows_nothing(repair: Repair, reviewer: Account) -> None:
    """Neither is it offered, nor taken; a file that was taken back is not offered."""
    row = NonconformanceFactory(repair=repair)
    elsewhere = EvidenceFactory(file_name="elsewhere.jpg")
    EvidenceFactory(
        repair=repair, file_name="by-mistake.jpg", taken_back_at=now(), taken_back_reason="blurred"
    )
    typed = {"nonconformance": str(row.pk), "disposition": "rework", "reason": "x"}

    page = refused(reviewer, repair, "decide", 422, evidence=[str(elsewhere.pk)], **typed)
    many = refused(reviewer, repair, "decide", 422, evidence=[str(elsewhere.pk)] * 51, **typed)

    assert "a file of this repair" in page.text
    assert "Files that show it: choose at most 50." in many.text
    assert "elsewhere.jpg" not in page.text
    assert "There is no file of this repair yet that could show it." in page.text
    row.refresh_from_db()
    assert row.disposition == ""


def test_a_dispatcher_who_reported_the_work_does_not_decide(
    repair: Repair, dispatcher: Account
) -> None:
    """It is said where there is something to decide, and nothing stands there otherwise."""
    FieldEventFactory(repair=repair, posted_by=dispatcher)
    assert "Judge it" not in look(dispatcher, address(repair)).text
    row = NonconformanceFactory(repair=repair)

    page = look(dispatcher, address(repair))

    assert "Whoever installed does not judge it" in page.text
    assert f"why-{row.pk}" not in page.typed


def test_a_nonconformance_of_another_repair_is_not_there(repair: Repair, reviewer: Account) -> None:
    """Its address is that of its own repair."""
    row = NonconformanceFactory()
    typed = {"nonconformance": str(row.pk), "disposition": "rework", "reason": "x"}

    page_of(sent(reviewer, repair, "decide", **typed), status=404)
    assert Nonconformance.objects.get().disposition == ""


def test_a_page_of_an_earlier_attempt_judges_nothing(reviewer: Account) -> None:
    """It is read only there, and a form left open over a return is refused."""
    repair = RepairFactory(attempt=2)

    page = look(reviewer, f"{address(repair)}?attempt=1")
    late = client_of(reviewer).post(
        address(repair, "waive"), {"attempt": "1", "requirement": "wet_out_photo", **PERSON}
    )

    assert "Judge it" not in page.text
    told = page_of(late, status=409)
    assert "This page showed attempt 1, and attempt 2 is under way" in told.text
    assert told.typed["reason-wet_out_photo"] == PERSON["reason"]
    assert not Waiver.objects.exists()


@pytest.mark.parametrize("who", ["crew_lead", "client_user"])
def test_nobody_else_has_the_forms(who: str, request: pytest.FixtureRequest) -> None:
    """Crews and clients read what is proved and judge nothing."""
    account = request.getfixturevalue(who)
    given = {"customer": account.customer} if account.customer else {}
    repair = RepairFactory(**given)
    if who == "crew_lead":
        AssignmentFactory(repair=repair, crew=account.crew_member.crew)

    assert "Judge it" not in look(account, address(repair)).text
    page_of(sent(account, repair, "close", sure="yes"), status=403)


@pytest.mark.parametrize("act", ["waive", "judge", "look", "close", "decide"])
def test_whose_session_is_over_comes_back_to_the_repair(repair: Repair, act: str) -> None:
    """Nothing is done, and after signing in the repair's page is there."""
    answer = client_of(None).post(address(repair, act), {"attempt": "1"})

    assert answer["Location"] == f"/login?next={address(repair)}"


def test_hostile_words_stay_words(repair: Repair, reviewer: Account) -> None:
    """Markup that was typed is shown, not obeyed."""
    hostile = '"></textarea><script>alert(1)</script>'
    NonconformanceFactory(repair=repair, words=hostile)
    typed = {"requirement": "film_in_time", "role": "", "name": hostile, "reason": hostile}

    page = refused(reviewer, repair, "waive", 422, **typed)

    assert page.typed["reason-film_in_time"] == hostile
    assert page.text.count(hostile) >= 2
