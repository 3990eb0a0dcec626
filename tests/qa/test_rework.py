"""What was not as required is done again: an attempt of its own, the failed one stays."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from config.demo.evidence import film
from dispatch.domain.plan_horizon import Horizon
from dispatch.models import Assignment, Notice
from dispatch.pages.crew_day import crew_day
from dispatch.plan_facts.open_repairs import open_repairs
from duework.runner import run_due
from qa.facts import facts_of
from qa.handover.proof import nonconformances
from qa.models import CloseoutPackage, Nonconformance
from qa.services.answer import answer_package
from qa.services.check_hold_points import check_hold_points
from qa.services.close import close
from qa.services.decide import AcceptedBy, decide, say_done
from repairs.domain.field_event import EventKind
from repairs.domain.problem import Refused
from repairs.domain.progress import Stage
from repairs.domain.roles import Role
from repairs.models import FieldEvent
from repairs.selectors import attempt_at, clocks_at
from tests.callers import API, post_event, signed_in, with_token
from tests.factories import AccountFactory, now
from tests.field_sequence import event, quantity
from tests.live_repair import a_live_repair
from tests.page_reader import look
from tests.proof_factories import NonconformanceFactory
from tests.proved_repair import (
    ProvedRepair,
    a_planned_repair,
    a_proved_repair,
    assigned,
    do_due_work,
    hand_in,
    prescribed,
    report,
)

pytestmark = pytest.mark.django_db

ENGINEER = AcceptedBy("Ina Invented", "client's engineer")


@pytest.fixture
def proved(tmp_path: Path) -> ProvedRepair:
    """Return a repair that could close, were there not what somebody saw on the film."""
    return a_proved_repair(tmp_path)


def _seen(proved: ProvedRepair, words: str = "a fold at three o'clock") -> Nonconformance:
    row = NonconformanceFactory(
        repair=proved.repair, code="seen_on_the_film", words=words, found_by_rule=False
    )
    assert isinstance(row, Nonconformance)
    return row


def _decided(proved: ProvedRepair, row: Nonconformance, what: str = "rework") -> Nonconformance:
    return decide(
        nonconformance=row,
        disposition=what,
        reason="to be ground off",
        by=proved.reviewer,
        now=now(),
    )


def test_rework_opens_the_next_attempt_and_the_old_one_stays(proved: ProvedRepair) -> None:
    """Attempt 2 has a stage of its own and no crew; of attempt 1 nothing is touched."""
    before = list(FieldEvent.objects.filter(repair=proved.repair).values("pk", "attempt", "kind"))

    _decided(proved, _seen(proved))

    proved.repair.refresh_from_db()
    assert (proved.repair.attempt, proved.repair.stage) == (2, Stage.REWORK)
    rows = FieldEvent.objects.filter(repair=proved.repair)
    assert list(rows.filter(attempt=1).values("pk", "attempt", "kind")) == before
    added = rows.get(attempt=2)
    assert added.kind == "rework_ordered"
    assert "attempt 1 was not as required: a fold at three o'clock" in added.data["words"]


def test_a_plan_can_hold_it_again_once_it_is_prescribed(proved: ProvedRepair) -> None:
    """It waits like a new order: first for its prescription, then for a place."""
    _decided(proved, _seen(proved))
    today = datetime.now(UTC).date()
    horizon = Horizon(today, 3, datetime.combine(today, datetime.min.time(), UTC))

    asked = {each.repair.pk: each.code for each in open_repairs(horizon, now()).not_planned}
    assert asked == {proved.repair.pk: "no_prescription"}

    prescribed(proved.dispatcher, proved.repair)
    found = open_repairs(horizon, now())
    assert [row.repair.pk for row in found.to_plan] == [proved.repair.pk]


def test_the_dispatcher_is_told_until_a_crew_has_it(proved: ProvedRepair) -> None:
    """The reviewer decides, the dispatcher plans: the notice is settled by the assignment."""
    _decided(proved, _seen(proved))
    do_due_work()
    while run_due(now=now() + timedelta(hours=12)):  # the night is quiet
        pass
    told = Notice.objects.get(code="rework_waits")
    assert "a fold at three o'clock" in told.words
    assert told.calls.get().to == "dispatcher"

    prescribed(proved.dispatcher, proved.repair)
    assigned(proved.dispatcher, proved.repair, proved.crew, now() + timedelta(hours=1))
    do_due_work()

    told.refresh_from_db()
    assert told.settled_at is not None


def test_the_crews_day_shows_the_failed_attempt_as_over(proved: ProvedRepair) -> None:
    """Nothing is left to do of attempt 1; attempt 2 is nobody's yet."""
    _decided(proved, _seen(proved))

    day = crew_day(proved.lead, now=now())

    assert day is not None
    assert [(job.ref, job.done) for job in day.jobs] == [(proved.repair.ref, True)]


def _film_again(proved: ProvedRepair, folder: Path) -> UUID:
    """Hand in a film of the reworked repair; return its id."""
    at = now() - timedelta(seconds=1)
    path = folder / "again.mp4"
    film(path, title="again", repair_ref=proved.repair.ref, started_at=at, seconds=0.5)
    answer = hand_in(with_token(proved.lead), proved.repair, "post_repair_film", path, now())
    assert answer.status_code == 201, answer.json()
    do_due_work()
    return UUID(answer.json()["id"])


def test_it_closes_when_the_rework_is_said_done_and_the_report_tells_of_it(
    proved: ProvedRepair, tmp_path: Path
) -> None:
    """The fold was ground off without resin: what was installed still stands."""
    row = _decided(proved, _seen(proved))
    proved.repair.refresh_from_db()
    with pytest.raises(Refused) as refused:
        close(repair=proved.repair, by=proved.reviewer, now=now())
    assert refused.value.code == "not_proved"
    assert refused.value.detail.endswith(
        "Nonconformance decided on, rework to be done: a fold at three o'clock."
    )

    with pytest.raises(Refused) as early:
        say_done(nonconformance=row, evidence=(), by=proved.reviewer, now=now())
    assert early.value.code == "not_done_yet"

    ground_off = _film_again(proved, tmp_path)
    say_done(nonconformance=row, evidence=(ground_off,), by=proved.reviewer, now=now())
    closing = close(repair=proved.repair, by=proved.reviewer, now=now())

    told = nonconformances(closing, facts_of(proved.repair, attempt=2, now=closing.closed_at))
    assert [(each.words, each.disposition) for each in told] == [
        ("attempt 1: a fold at three o'clock", "rework: to be ground off")
    ]


def test_two_matters_of_one_attempt_open_one_attempt(proved: ProvedRepair) -> None:
    """The second decision on attempt 1 is recorded; attempt 2 is under way already."""
    rows = [_seen(proved, "a fold"), _seen(proved, "a bubble")]
    for row in rows:
        _decided(proved, row, "repair again")

    proved.repair.refresh_from_db()
    assert proved.repair.attempt == 2
    assert FieldEvent.objects.filter(repair=proved.repair, kind="rework_ordered").count() == 1


def test_what_a_phone_sends_late_belongs_to_the_attempt_in_which_it_happened(
    proved: ProvedRepair,
) -> None:
    """A reading from before the decision is the first attempt's, one from after it the second's."""
    _decided(proved, _seen(proved))
    told = {"Device-Time": now().isoformat()}
    phone = with_token(proved.lead)
    late = event(proved.repair.id, "film_changed", proved.at("film_changed"))
    fresh = event(proved.repair.id, "arrived", now() + timedelta(seconds=2))

    for each in (late, fresh):
        assert post_event(phone, each, **told).status_code == 201

    attempts = {row.kind: row.attempt for row in FieldEvent.objects.filter(id__in=(
        late["id"], fresh["id"]))}  # fmt: skip
    assert attempts == {"film_changed": 1, "arrived": 2}


def test_nobody_begins_anew_over_live_resin() -> None:
    """The crew's clock would go out of sight: refused, and nothing is half written."""
    live = a_live_repair(until="inflated", ago_min=20)
    row = _seen(live)

    with pytest.raises(Refused) as refused:
        _decided(live, row)

    assert refused.value.code == "resin_is_live"
    row.refresh_from_db()
    live.repair.refresh_from_db()
    assert (row.disposition, live.repair.attempt) == ("", 1)


def test_before_mixing_the_attempt_under_way_does_it_right() -> None:
    """Nothing lies in the pipe yet: the decision is recorded, the crew goes on."""
    planned = a_planned_repair()

    row = _decided(planned, _seen(planned, "the wrong packer was loaded"))

    planned.repair.refresh_from_db()
    assert (row.disposition, planned.repair.attempt) == ("rework", 1)


def test_a_closed_attempt_is_begun_anew_by_the_clients_return_only(proved: ProvedRepair) -> None:
    """Its package is handed over: the client returns it, and then the decision stands beside."""
    closing = close(repair=proved.repair, by=proved.reviewer, now=now())
    do_due_work()
    row = _seen(proved)
    with pytest.raises(Refused) as refused:
        _decided(proved, row)
    assert refused.value.code == "already_closed"
    assert "Let the client return it" in refused.value.detail

    client = AccountFactory(role=Role.CLIENT.value, customer=proved.repair.work_order.customer)
    reasons = [{"requirement": "post_repair_film", "note": "a fold"}]
    answer_package(
        package=CloseoutPackage.objects.get(closing=closing),
        answer="returned",
        reasons=reasons,
        note="",
        by=client,
        now=now(),
    )
    _decided(proved, row)

    proved.repair.refresh_from_db()
    assert (proved.repair.attempt, proved.repair.stage) == (2, Stage.RETURNED)


def test_a_breach_that_was_decided_on_is_not_asked_again() -> None:
    """Attempt 2 carries on attempt 1; its missing dry run is that of attempt 1, and answered."""
    planned = a_planned_repair()
    report(planned, skip=frozenset({"dry_run_done"}))
    do_due_work()
    breach = Nonconformance.objects.get(code="dry_run_and_new_film")
    _decided(planned, breach)
    planned.repair.refresh_from_db()

    check_hold_points(repair=planned.repair, attempt=2, now=now())

    rows = Nonconformance.objects.filter(repair=planned.repair, code="dry_run_and_new_film")
    assert [(row.attempt, row.disposition) for row in rows] == [(1, "rework")]


@pytest.mark.parametrize(
    ("what", "who", "code"),
    [
        ("accept as is", None, "malformed"),  # nobody of the client's side is named
        ("rework", ENGINEER, "malformed"),  # there is nothing to accept
        ("accept as is", AcceptedBy("Ina Invented", "foreman"), "not_allowed"),  # not by contract
    ],
)
def test_only_the_clients_side_accepts_as_is(
    proved: ProvedRepair, what: str, who: AcceptedBy | None, code: str
) -> None:
    """Who accepts is named, in a role of the contract; anything else writes nothing."""
    contract = proved.repair.work_order.requirement_set
    contract.accepts_as_is = ["client's engineer"]
    contract.save()
    row = _seen(proved)

    with pytest.raises(Refused) as refused:
        decide(
            nonconformance=row, disposition=what, reason="seen", accepted_by=who,
            by=proved.reviewer, now=now(),
        )  # fmt: skip

    assert refused.value.code == code
    row.refresh_from_db()
    assert row.disposition == ""


def test_what_the_client_accepted_says_who_did(proved: ProvedRepair) -> None:
    """The name stands in the report and on the page; no attempt is opened."""
    contract = proved.repair.work_order.requirement_set
    contract.accepts_as_is = ["client's engineer"]
    contract.save()
    row = _seen(proved)
    decide(
        nonconformance=row, disposition="accept as is", reason="3 mm high", accepted_by=ENGINEER,
        by=proved.reviewer, now=now(),
    )  # fmt: skip

    closing = close(repair=proved.repair, by=proved.reviewer, now=now())

    told = nonconformances(closing, facts_of(proved.repair, attempt=1, now=closing.closed_at))
    said = "accept as is by Ina Invented, client's engineer: 3 mm high"
    assert [each.disposition for each in told] == [said]
    assert told[0].decided_by == f"{proved.reviewer.display_name}, reviewer"
    row.refresh_from_db()
    assert (told[0].accepted_by, told[0].decided_at) == (
        "Ina Invented, client's engineer",
        row.decided_at,
    )
    page = signed_in(proved.reviewer).get(f"/repairs/{proved.repair.pk}").content.decode()
    assert "by Ina Invented, client&#x27;s engineer" in page
    assert signed_in(proved.reviewer).get(f"{API}/repairs/{proved.repair.pk}").status_code == 200


def test_an_attempt_that_is_over_sends_nobody_out(proved: ProvedRepair, tmp_path: Path) -> None:
    """Attempt 2 was given to a crew for tomorrow and closed today: the crew is free."""
    row = _decided(proved, _seen(proved))
    prescribed(proved.dispatcher, proved.repair)
    assigned(proved.dispatcher, proved.repair, proved.crew, now() + timedelta(days=1))
    film_id = _film_again(proved, tmp_path)
    say_done(nonconformance=row, evidence=(film_id,), by=proved.reviewer, now=now())
    close(repair=proved.repair, by=proved.reviewer, now=now())

    second = Assignment.objects.get(repair=proved.repair, attempt=2)
    assert second.cancel_reason == "the attempt was closed before it began"


def test_resin_mixed_without_a_new_prescription_has_a_clock_all_the_same(
    proved: ProvedRepair,
) -> None:
    """The crew repeats it at once: the clocks go by the last prescription, and it is told so."""
    _decided(proved, _seen(proved), "repair again")
    phone = with_token(proved.lead)
    mixed = event(
        proved.repair.id,
        "mixing_started",
        now() - timedelta(seconds=1),
        {
            "resin_temperature": quantity(20, "degC"),
            "kit_lot": proved.lot.number,
            "lot_a": proved.lot.resin_lot_a,
            "lot_b": proved.lot.resin_lot_b,
        },
    )
    told = {"Device-Time": now().isoformat()}
    answer = post_event(phone, mixed | {"time": (now() + timedelta(seconds=1)).isoformat()}, **told)

    assert answer.json()["remarks"][0] == (
        "attempt 2 has no prescription; the clocks go by that of the attempt before: call the "
        "office before you mix"
    )
    proved.repair.refresh_from_db()
    clocks = clocks_at(proved.repair, now=now())
    assert clocks is not None
    assert clocks.working.deadline_early is not None
    day = crew_day(proved.lead, now=now())
    assert day is not None
    assert [(job.ref, job.stage, job.done) for job in day.jobs] == [
        (proved.repair.ref, "wet out", False)
    ]


def test_what_was_to_be_touched_up_can_still_be_repaired_again(proved: ProvedRepair) -> None:
    """A second matter of the first attempt wants all of it anew: attempt 2 proves itself alone."""
    _decided(proved, _seen(proved, "a fold"))
    proved.repair.refresh_from_db()
    assert facts_of(proved.repair, attempt=2, now=now()).progress.event(EventKind.FILMED)

    _decided(proved, _seen(proved, "it leaks"), "repair again")

    proved.repair.refresh_from_db()
    assert proved.repair.attempt == 2
    assert facts_of(proved.repair, attempt=2, now=now()).progress.event(EventKind.FILMED) is None
    assert attempt_at(proved.repair, now() + timedelta(hours=1)) == 2


def test_what_is_found_after_closing_stands_on_the_clients_page(proved: ProvedRepair) -> None:
    """The package is silent on it, so the page says it."""
    closing = close(repair=proved.repair, by=proved.reviewer, now=now())
    do_due_work()
    NonconformanceFactory(
        repair=proved.repair, code="seen", words="the wrong pipe", found_by_rule=False
    )
    client = AccountFactory(role=Role.CLIENT.value, customer=proved.repair.work_order.customer)
    package = CloseoutPackage.objects.get(closing=closing)

    page = look(client, f"/packages/{package.pk}").text

    assert "Found after it was closed: the package does not tell it" in page
    assert "The wrong pipe." in page
