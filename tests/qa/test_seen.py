"""What somebody saw that is not as required: reported by anybody inside, withdrawn if a slip."""

from pathlib import Path

import pytest

from qa.facts import facts_of
from qa.handover.proof import nonconformances
from qa.history_check import history_faults
from qa.models import HistoryEntry, Nonconformance, Waiver
from qa.services.close import close
from qa.services.decide import decide
from qa.services.report_seen import report_seen, withdraw_seen
from qa.services.waive import waive
from qa.services.write_history import write_history
from repairs.domain.problem import Refused
from repairs.models import Account, Repair
from tests.callers import API, signed_in
from tests.factories import AccountFactory, now
from tests.page_reader import look
from tests.proof_factories import FieldEventFactory, NonconformanceFactory
from tests.proved_repair import ProvedRepair, a_planned_repair, a_proved_repair
from tests.repair_page import address, refused, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned() -> ProvedRepair:
    """Return a repair that its crew and the office see."""
    return a_planned_repair()


def seen(repair: Repair, by: Account, words: str = "the rope is frayed") -> Nonconformance:
    """Return what somebody reported."""
    return report_seen(repair=repair, words=words, by=by, now=now())


@pytest.mark.parametrize("who", ["lead", "dispatcher", "reviewer"])
def test_whoever_is_inside_reports_it_at_the_page(planned: ProvedRepair, who: str) -> None:
    """In their own words; the board and the page show it, with who reported it."""
    account = getattr(planned, who)

    empty = refused(account, planned.repair, "seen", 422, words=" ")
    done = sent(account, planned.repair, "seen", words="the rope is frayed")

    assert "What you saw: This field is required." in empty.text
    assert done["Location"].endswith("#nonconformances")  # type: ignore[index]
    row = Nonconformance.objects.get()
    assert (row.code, row.found_by_rule, row.opened_by) == ("seen", False, account)
    page = look(account, address(planned.repair))
    assert "The rope is frayed. Since" in page.text
    assert f"reported by {account.display_name}" in page.text


def test_what_was_typed_on_an_old_page_is_kept(planned: ProvedRepair) -> None:
    """Another attempt is under way: the words stand there to be sent again."""
    planned.repair.attempt = 2
    planned.repair.save()

    page = refused(planned.dispatcher, planned.repair, "seen", 409, attempt="1", words="a fold")

    assert page.typed["seen-words"] == "a fold"
    assert not Nonconformance.objects.exists()


def test_the_client_reports_and_withdraws_nothing_here(planned: ProvedRepair) -> None:
    """The client answers a package; the form is not on its page."""
    client = AccountFactory(role="client", customer=planned.repair.work_order.customer)

    page = look(client, address(planned.repair))

    assert "Report something" not in page.text
    assert sent(client, planned.repair, "seen", words="x").status_code == 403  # type: ignore[attr-defined]


def test_a_slip_is_withdrawn_by_whoever_reported_it(planned: ProvedRepair) -> None:
    """With a reason that stands on the page; nothing is left to decide."""
    row = seen(planned.repair, planned.lead)
    typed = {"nonconformance": str(row.pk), "reason": "it was the other repair's rope"}

    before = look(planned.lead, address(planned.repair))
    unsaid = refused(planned.lead, planned.repair, "withdraw", 422, **{**typed, "reason": ""})
    sent(planned.lead, planned.repair, "withdraw", **typed)
    again = refused(planned.lead, planned.repair, "withdraw", 409, **typed)

    assert "It was a slip" in before.text
    assert "Why: This field is required." in unsaid.text
    assert "It is withdrawn already." in again.text
    row.refresh_from_db()
    assert (row.withdrawn_by, row.withdrawn_reason) == (planned.lead, typed["reason"])
    page = look(planned.dispatcher, address(planned.repair))
    assert f"withdrawn by {planned.lead.display_name}: it was the other" in page.text
    assert "It was a slip" not in page.text
    assert "To be decided" not in page.text


def test_who_may_withdraw(planned: ProvedRepair) -> None:
    """Whoever reported it and a reviewer; nobody else, and no reviewer who installed."""
    row = seen(planned.repair, planned.lead)
    office = f"{API}/nonconformances/{row.pk}/withdraw"

    answer = signed_in(planned.dispatcher).post(office, {"reason": "x"})
    assert (answer.status_code, answer.json()["code"]) == (403, "not_allowed")
    assert "It was a slip" not in look(planned.dispatcher, address(planned.repair)).text

    installer = AccountFactory(role="reviewer")
    FieldEventFactory(repair=planned.repair, posted_by=installer)
    answer = signed_in(installer).post(office, {"reason": "x"})
    assert (answer.status_code, answer.json()["code"]) == (403, "not_yours_to_review")

    answer = signed_in(planned.reviewer).post(office, {"reason": "twice told"})
    assert (answer.status_code, answer.json()["withdrawn_reason"]) == (200, "twice told")


def test_neither_what_a_rule_found_nor_what_is_decided_is_withdrawn(planned: ProvedRepair) -> None:
    """A rule withdraws by itself; a decision stands."""
    by_rule = NonconformanceFactory(repair=planned.repair, found_by_rule=True)
    decided = seen(planned.repair, planned.lead)
    decide(
        nonconformance=decided, disposition="dig and refer", reason="x", by=planned.reviewer,
        now=now(),
    )  # fmt: skip

    for row, code in ((by_rule, "not_for_judgement"), (decided, "already_answered")):
        with pytest.raises(Refused) as told:
            withdraw_seen(nonconformance=row, reason="x", by=planned.reviewer, now=now())
        assert told.value.code == code
        row.refresh_from_db()
        assert row.withdrawn_by is None


def test_a_waiver_leaves_a_withdrawn_report_as_it_is(planned: ProvedRepair) -> None:
    """It was no nonconformance, so nobody let it go."""
    row = report_seen(
        repair=planned.repair, words="x", by=planned.lead, now=now(), code="wet_out_photo"
    )
    withdraw_seen(nonconformance=row, reason="slip", by=planned.lead, now=now())

    waive(repair=planned.repair, requirement="wet_out_photo", name="Ina Invented",
          role="client's engineer", reason="seen", by=planned.reviewer, now=now())  # fmt: skip

    assert Waiver.objects.count() == 1
    row.refresh_from_db()
    assert row.disposition == ""


def test_it_closes_without_it_and_the_history_tells_of_both(tmp_path: Path) -> None:
    """The report does not tell of a slip; the history keeps the report and its withdrawal."""
    proved = a_proved_repair(tmp_path)
    row = seen(proved.repair, proved.lead)
    write_history(now=now())
    withdraw_seen(nonconformance=row, reason="another pipe", by=proved.lead, now=now())
    write_history(now=now())

    closing = close(repair=proved.repair, by=proved.reviewer, now=now())

    facts = facts_of(proved.repair, attempt=1, now=closing.closed_at)
    assert nonconformances(closing, facts) == ()
    entries = HistoryEntry.objects.filter(subject=str(row.pk)).order_by("number")
    assert [each.source for each in entries] == ["nonconformance", "nonconformance withdrawn"]
    write_history(now=now(), checkpoint=True)
    assert history_faults(now=now()).faults == ()
    Nonconformance.objects.filter(pk=row.pk).update(withdrawn_reason="somebody wrote over it")
    assert any("nonconformance withdrawn" in fault for fault in history_faults(now=now()).faults)
