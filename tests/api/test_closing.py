"""A repair closes when everything is proved or waived, and says why as long as it is not."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from duework.models import WorkItem
from qa.handover.package_facts import closeout_facts
from qa.handover.proof import recorders, requirement
from qa.models import CloseoutPackage, Closing, Nonconformance, Waiver
from repairs.domain.roles import Role
from repairs.models import Account, Repair
from tests.callers import API, post_event, signed_in, with_token
from tests.contract_example import REQUIREMENT_CODES
from tests.factories import AccountFactory, now
from tests.field_sequence import event
from tests.proof_factories import EvidenceFactory, NonconformanceFactory, WaiverFactory
from tests.proved_repair import ProvedRepair, a_planned_repair, a_proved_repair, do_due_work, report

pytestmark = pytest.mark.django_db
PERSON = {"name": "Invented Person", "role": "client's engineer", "reason": "seen on site"}


@pytest.fixture(scope="module")
def proved(
    module_rows: None,  # noqa: ARG001 - keeps the rows
    tmp_path_factory: pytest.TempPathFactory,
) -> ProvedRepair:
    """Return one proved repair for all tests of this file."""
    return a_proved_repair(tmp_path_factory.mktemp("evidence"))


def path(proved: ProvedRepair, what: str) -> str:
    """Return an address of the repair."""
    return f"{API}/repairs/{proved.repair.id}/{what}"


def by_code(reasons: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return reasons or verdicts by their code."""
    return {each["code"]: each for each in reasons}


def test_a_proved_repair_closes_and_orders_its_package(proved: ProvedRepair) -> None:
    """With every requirement met the reviewer closes, and a package is under way."""
    office = signed_in(proved.reviewer)

    verdicts = office.get(path(proved, "verdicts")).json()
    answer = office.post(path(proved, "close"))

    assert {v["code"]: v["reason"] for v in verdicts["verdicts"] if v["outcome"] != "met"} == {}
    assert [v["code"] for v in verdicts["verdicts"]] == list(REQUIREMENT_CODES)
    assert verdicts["may_close"] is True
    assert answer.status_code == 201, answer.json()
    package = CloseoutPackage.objects.get()
    assert answer.json()["package"] == str(package.id)
    assert WorkItem.objects.filter(kind="build-package", subject_id=str(package.pk)).exists()
    assert Repair.objects.get(pk=proved.repair.pk).stage == "closed"


def test_closing_twice_is_refused(proved: ProvedRepair) -> None:
    """A closed attempt is closed; its verdicts stand."""
    office = signed_in(proved.reviewer)
    office.post(path(proved, "close"))

    again = office.post(path(proved, "close"))

    assert (again.status_code, again.json()["code"]) == (409, "already_closed")
    assert Closing.objects.count() == 1


def test_nobody_closes_over_live_resin(proved: ProvedRepair) -> None:
    """Whatever was waived: its crew still watches a clock, which no package would show."""
    proved.repair.stage = "curing"
    proved.repair.save()

    answer = signed_in(proved.reviewer).post(path(proved, "close"))

    assert (answer.status_code, answer.json()["code"]) == (409, "resin_is_live")
    assert Closing.objects.count() == 0


def test_whoever_reported_the_work_does_not_close_it(proved: ProvedRepair) -> None:
    """A crew lead who has become a reviewer does not review what they installed."""
    proved.lead.role = Role.REVIEWER.value
    proved.lead.save()

    answer = signed_in(proved.lead).post(path(proved, "close"))

    assert (answer.status_code, answer.json()["code"]) == (403, "not_yours_to_review")
    assert Closing.objects.count() == 0


def test_a_package_tells_what_a_decision_rests_on(proved: ProvedRepair) -> None:
    """Cause and files as they were named; a file that does not stand any more only by its name."""
    films = [proved.evidence[f"{when}_repair_film"] for when in ("pre", "post")]
    gone = EvidenceFactory(
        repair=proved.repair, file_name="blurred.jpg", taken_back_at=now(), taken_back_reason="x"
    )
    NonconformanceFactory(
        repair=proved.repair, code="film_late", found_by_rule=False,
        disposition="rework", disposition_reason="again",
        root_cause="no signal", evidence=[films[0], str(gone.pk)],
        done_at=now(), done_evidence=[films[1]],
    )  # fmt: skip

    answer = signed_in(proved.reviewer).post(path(proved, "close"))

    assert answer.status_code == 201, answer.json()
    (told,) = closeout_facts(Closing.objects.get()).nonconformances
    assert (told.root_cause, told.disposition) == ("no signal", "rework: again")
    assert (told.evidence_ids, told.done_evidence_ids) == ((films[0],), (films[1],))
    assert told.other_files == ("blurred.jpg",)


def test_a_late_event_after_closing_opens_a_nonconformance(proved: ProvedRepair) -> None:
    """What comes in afterwards never reopens silently; it stands there to be decided."""
    office = signed_in(proved.reviewer)
    office.post(path(proved, "close"))

    post_event(with_token(proved.lead), event(proved.repair.id, "held", now(), {"reason": "x"}))
    do_due_work()

    found = office.get(path(proved, "nonconformances")).json()
    assert [row["code"] for row in found] == ["event_after_closing"]
    assert "held" in found[0]["words"]


def test_an_unproved_repair_is_answered_with_every_verdict() -> None:
    """Each requirement comes with its verdict, its reason and what would settle it."""
    planned = a_planned_repair()

    answer = signed_in(planned.reviewer).post(path(planned, "close"))

    assert (answer.status_code, answer.json()["code"]) == (409, "not_proved")
    reasons = by_code(answer.json()["reasons"])
    assert list(reasons) == list(REQUIREMENT_CODES)
    assert reasons.pop("prescription_current")["outcome"] == "met"
    assert {each["outcome"] for each in reasons.values()} == {"incomplete"}
    assert all(each["reason"] and each["settle"] for each in reasons.values())
    assert Closing.objects.count() == 0


def test_one_missing_step_is_enough_to_refuse() -> None:
    """Without a reported hold test, the hold test is what the answer names as open."""
    planned = a_planned_repair()
    report(planned, skip=frozenset({"hold_test_done"}))
    do_due_work()

    reasons = signed_in(planned.reviewer).post(path(planned, "close")).json()["reasons"]

    open_now = {each["code"] for each in reasons if each.get("outcome") == "incomplete"}
    assert "hold_test" in open_now
    assert "wet_out_saturated" not in open_now
    # The nonconformance of the same requirement is not told a second time.
    assert "open_nonconformance" not in {each["code"] for each in reasons}
    assert Nonconformance.objects.filter(code="hold_test", withdrawn_at=None).exists()


def test_a_nonconformance_is_decided_once_with_a_reason() -> None:
    """A hold point that was passed stays open until somebody decides; then it is history."""
    planned = a_planned_repair()
    report(planned, skip=frozenset({"dry_run_done"}))
    do_due_work()
    office = signed_in(planned.reviewer)
    rows = by_code(office.get(path(planned, "nonconformances")).json())
    row = rows["dry_run_and_new_film"]
    address = f"{API}/nonconformances/{row['id']}/decision"
    who = {"name": "Ina Invented", "role": "client's engineer"}
    decision = {"disposition": "accept as is", "reason": "seen on the film", "accepted_by": who}

    unsaid = office.post(address, {**decision, "disposition": "forget it"})
    nobody = office.post(address, {**decision, "accepted_by": {"name": "Ina Invented"}})
    done = office.post(address, decision)
    again = office.post(address, decision)

    assert "mixing started was reported although" in row["words"]
    assert unsaid.status_code == 422
    assert (nobody.status_code, nobody.json()["errors"][0]["field"]) == (422, "accepted_by.role")
    assert (done.status_code, done.json()["disposition"]) == (200, "accept as is")
    assert done.json()["accepted_by_role"] == "client's engineer"
    assert (again.status_code, again.json()["code"]) == (409, "already_answered")


def test_a_late_report_withdraws_the_nonconformance() -> None:
    """When the missing step arrives with its own time, all was well, and the row says so."""
    planned = a_planned_repair()
    events = report(planned, skip=frozenset({"film_changed"}))
    do_due_work()
    opened = Nonconformance.objects.get(code="dry_run_and_new_film")
    assert opened.withdrawn_at is None

    late = event(planned.repair.id, "film_changed", planned.at("film_changed"))
    post_event(with_token(planned.lead), late, **{"Device-Time": now().isoformat()})
    do_due_work()

    opened.refresh_from_db()
    assert opened.withdrawn_at is not None
    assert len(events) == 15


def test_a_waiver_closes_by_name_role_and_reason(proved: ProvedRepair, tmp_path: Path) -> None:
    """What was let go stays 'not met', with who let it go, in the verdicts that are kept."""
    del tmp_path
    office = signed_in(proved.reviewer)
    # A deflation reported again, an hour earlier, makes the cure too short.
    early = event(
        proved.repair.id,
        "deflated",
        proved.at("deflated") - timedelta(minutes=60),
        {},
        corrects=_id_of(proved, "deflated"),
    )
    post_event(with_token(proved.lead), early, **{"Device-Time": now().isoformat()})
    do_due_work()
    refused = by_code(office.post(path(proved, "close")).json()["reasons"])

    body = {"requirement": "cured_before_deflation", **PERSON}
    waived = office.post(path(proved, "waivers"), body)
    answer = office.post(path(proved, "close"))

    assert refused["cured_before_deflation"]["outcome"] == "not met"
    assert waived.status_code == 201
    assert answer.status_code == 201, answer.json()
    kept = by_code(Closing.objects.get().verdicts)["cured_before_deflation"]
    assert (kept["outcome"], kept["waiver"], kept["closes"]) == ("not met", PERSON, True)


def test_the_record_says_who_wrote_the_waiver_down_and_when(proved: ProvedRepair) -> None:
    """Who let it go signed nothing: the account that typed it is named, with the time."""
    WaiverFactory(
        repair=proved.repair, requirement="wet_out_photo", recorded_by=proved.reviewer, **PERSON
    )
    row = Waiver.objects.get()
    row.judged = True
    row.pk, row.recorded_by = None, proved.lead
    Waiver.objects.bulk_create([row])  # a judgement of the same, by another: not mixed up

    closing = Closing(repair=proved.repair, attempt=1)
    verdict = {
        "code": "wet_out_photo", "title": "x", "outcome": "incomplete", "reason": "", "numbers": {},
        "evidence": [], "waiver": PERSON, "judgement": PERSON,
    }  # fmt: skip
    fact = requirement(verdict, recorders(closing))

    assert fact.waiver is not None
    assert (fact.waiver.recorded_by, fact.waiver.recorded_at) == (
        proved.reviewer.display_name,
        row.recorded_at,
    )


def _id_of(proved: ProvedRepair, kind: str) -> str:
    return str(proved.repair.field_events.get(kind=kind).pk)


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"requirement": "lunch", **PERSON}, 422, "malformed"),  # no requirement of this contract
        ({"requirement": "hold_test"}, 422, "malformed"),  # by nobody, for no reason
        ({"requirement": "hold_test", **PERSON, "reason": " "}, 422, "malformed"),
        ({"requirement": "lots_traceable", **PERSON}, 403, "not_allowed"),  # the contract forbids
        ({"requirement": "hold_test", **PERSON}, 201, None),
    ],
)
def test_a_waiver_needs_a_requirement_a_person_and_a_reason(
    body: dict[str, str], status: int, code: str | None
) -> None:
    """Anything less is refused; ahead of time, before anything is reported, it is taken."""
    planned = a_planned_repair()

    answer = signed_in(planned.reviewer).post(path(planned, "waivers"), body)

    assert answer.status_code == status
    assert answer.json().get("code") == code


def test_what_is_met_is_not_waived(proved: ProvedRepair) -> None:
    """The report would say met and waived at once: there is nothing to let go."""
    body = {"requirement": "hold_test", **PERSON}

    answer = signed_in(proved.reviewer).post(path(proved, "waivers"), body)

    assert (answer.status_code, answer.json()["code"]) == (409, "nothing_to_let_go")
    assert "“Hold test of the packer” is met: " in answer.json()["detail"]
    assert not Waiver.objects.exists()


def test_what_was_waived_ahead_and_then_proved_is_met(proved: ProvedRepair) -> None:
    """The waiver is not needed any more, and neither page nor report says that it was."""
    Waiver.objects.create(
        repair=proved.repair, attempt=1, requirement="hold_test", **PERSON,
        recorded_by=proved.reviewer, recorded_at=proved.start,
    )  # fmt: skip

    assert signed_in(proved.reviewer).post(path(proved, "close")).status_code == 201

    told = {each.code: each for each in closeout_facts(Closing.objects.get()).requirements}
    assert (told["hold_test"].verdict, told["hold_test"].waiver) == ("met", None)
    page = signed_in(proved.reviewer).get(f"/repairs/{proved.repair.pk}").content.decode()
    assert "Let go by" not in page


def test_a_requirement_is_waived_once() -> None:
    """The first word stands."""
    proved = a_planned_repair()
    office = signed_in(proved.reviewer)
    body = {"requirement": "wet_out_photo", **PERSON}
    office.post(path(proved, "waivers"), body)

    again = office.post(path(proved, "waivers"), body)

    assert (again.status_code, again.json()["code"]) == (409, "already_there")


def test_what_is_closed_is_not_waived(proved: ProvedRepair) -> None:
    """Its verdicts stand as they were."""
    office = signed_in(proved.reviewer)
    office.post(path(proved, "close"))

    answer = office.post(path(proved, "waivers"), {"requirement": "wet_out_photo", **PERSON})

    assert answer.json()["code"] == "already_closed"


def test_hold_points_are_shown_ahead_and_gone_afterwards(proved: ProvedRepair) -> None:
    """Before the work the crew sees them all, after it none."""
    planned = a_planned_repair()

    before = with_token(planned.lead).get(path(planned, "hold-points")).json()
    after = with_token(proved.lead).get(path(proved, "hold-points")).json()

    assert [each["requirement"] for each in before][:2] == ["pipe_ready", "distances_agree"]
    assert all(each["settle"] for each in before if each["outcome"] != "met")
    assert after == []


def test_a_person_may_report_what_no_rule_sees(proved: ProvedRepair) -> None:
    """A nonconformance from a person stops the closing until it is decided."""
    phone = with_token(proved.lead)
    reported = phone.post(
        path(proved, "nonconformances"), {"code": "street_damaged", "words": "kerb broken"}
    )
    office: Any = signed_in(proved.reviewer)
    reviewer_sees: Account = AccountFactory(role="reviewer")

    refused = office.post(path(proved, "close"))
    signed_in(reviewer_sees).post(
        f"{API}/nonconformances/{reported.json()['id']}/decision",
        {"disposition": "rework", "reason": "kerb relaid"},
    )
    to_be_done = office.post(path(proved, "close"))
    done = f"{API}/nonconformances/{reported.json()['id']}/done"
    unseen = signed_in(reviewer_sees).post(done, {})
    proved.repair.refresh_from_db()
    EvidenceFactory(repair=proved.repair, attempt=2, kind="other_photo", file_name="kerb.jpg")
    signed_in(reviewer_sees).post(done, {})
    closed = office.post(path(proved, "close"))

    assert "decided on, rework to be done: kerb broken" in to_be_done.json()["detail"]
    assert (unseen.status_code, unseen.json()["code"]) == (409, "not_done_yet")
    assert reported.status_code == 201
    assert refused.json()["code"] == "not_proved"
    assert refused.json()["reasons"][-1]["reason"] == "kerb broken"
    assert closed.status_code == 201
