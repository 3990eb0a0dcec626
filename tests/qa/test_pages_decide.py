"""Deciding at the page of a repair: nothing is chosen for anybody, and nothing typed is dropped."""

import pytest

from qa.models import Nonconformance, Waiver
from qa.services.decide import decide
from repairs.models import Account, FieldEvent, Repair, RequirementSet
from tests.factories import RepairFactory, RequirementSetFactory, now
from tests.live_repair import a_live_repair
from tests.page_reader import client_of, look, page_of
from tests.proof_factories import EvidenceFactory, NonconformanceFactory
from tests.proved_repair import ProvedRepair, a_proved_repair
from tests.repair_page import address, refused, sent

ENGINEER = {"accepted_name": "Ina Invented", "accepted_role": "engineer of the owner"}


@pytest.fixture(scope="module")
def proved_rows(module_rows: None, tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:  # noqa: ARG001
    """Return a repair of which all is proved."""
    return a_proved_repair(tmp_path_factory.mktemp("files"))


@pytest.fixture
def proved(proved_rows: ProvedRepair, db: None) -> ProvedRepair:  # noqa: ARG001
    """Return it as it was; what a test did to it is taken back."""
    proved_rows.repair.refresh_from_db()
    return proved_rows


def contract_of(repair: Repair, **columns: object) -> RequirementSet:
    """Change what the contract of a repair says."""
    contract = repair.work_order.requirement_set
    for name, value in columns.items():
        setattr(contract, name, value)
    contract.save()
    return contract


def deciding(row: Nonconformance, disposition: str, **typed: str) -> dict[str, str]:
    """Return what is typed to decide on it."""
    return {"nonconformance": str(row.pk), "disposition": disposition, "reason": "seen", **typed}


def test_nothing_is_chosen_for_anybody(proved: ProvedRepair) -> None:
    """The list begins with an empty line, and whoever leaves it so is told."""
    row = NonconformanceFactory(repair=proved.repair, words="a fold")

    html = client_of(proved.reviewer).get(address(proved.repair)).content.decode()
    page = refused(proved.reviewer, proved.repair, "decide", 422, **deciding(row, ""))

    assert f'<select id="done-{row.pk}" name="disposition" required><option value="">' in html
    assert "<option selected>" not in html
    assert "What is done: choose one." in page.text
    assert page.typed[f"why-{row.pk}"] == "seen"
    row.refresh_from_db()
    assert row.disposition == ""


@pytest.mark.parametrize("left", ["accepted_name", "accepted_role"])
def test_who_accepts_it_belongs_to_accept_as_is(proved: ProvedRepair, left: str) -> None:
    """A name with rework is not dropped in silence: it is named, and what was typed stands."""
    contract_of(proved.repair, accepts_as_is=[])
    row = NonconformanceFactory(repair=proved.repair, words="a fold")
    typed = {left: "engineer of the owner", "again": "yes"}

    page = refused(
        proved.reviewer, proved.repair, "decide", 422, **deciding(row, "rework", **typed)
    )

    field = {"accepted_name": "Who accepts it", "accepted_role": "In which role"}[left]
    assert f"{field}: It belongs to 'accept as is', and 'rework' is chosen" in page.text
    assert page.typed[left] == "engineer of the owner"
    assert not FieldEvent.objects.filter(kind="rework_ordered").exists()


@pytest.mark.parametrize("chosen", ["rework", "repair again"])
def test_a_crew_is_sent_out_again_only_by_a_tick(proved: ProvedRepair, chosen: str) -> None:
    """The form says which attempt it opens, and demands the tick; then it is opened."""
    row = NonconformanceFactory(repair=proved.repair, words="a fold")

    page = look(proved.reviewer, address(proved.repair))
    unsure = refused(proved.reviewer, proved.repair, "decide", 422, **deciding(row, chosen))
    proved.repair.refresh_from_db()
    assert proved.repair.attempt == 1
    done = sent(proved.reviewer, proved.repair, "decide", **deciding(row, chosen, again="yes"))

    assert "This opens attempt 2: the crew goes out again." in page.text
    assert f"'{chosen.capitalize()}' opens attempt 2" in unsure.text
    assert done.status_code == 302  # type: ignore[attr-defined]
    proved.repair.refresh_from_db()
    assert proved.repair.attempt == 2


def test_no_tick_is_asked_where_no_attempt_is_opened(proved: ProvedRepair) -> None:
    """To accept or to dig opens none; before mixing, nothing does."""
    row = NonconformanceFactory(repair=proved.repair)
    dug = sent(proved.reviewer, proved.repair, "decide", **deciding(row, "dig and refer"))
    fresh = RepairFactory()
    early = NonconformanceFactory(repair=fresh)

    page = look(proved.reviewer, address(fresh))
    done = sent(proved.reviewer, fresh, "decide", **deciding(early, "rework"))

    assert [dug.status_code, done.status_code] == [302, 302]  # type: ignore[attr-defined]
    assert "no resin was mixed in attempt 1 yet, so that one does it right" in page.text
    assert "the crew goes out again" not in page.text


@pytest.mark.django_db
def test_over_live_resin_the_form_says_that_it_waits(reviewer: Account) -> None:
    """No tick is offered for what is refused anyway."""
    live = a_live_repair(until="inflated", ago_min=5)
    row = NonconformanceFactory(repair=live.repair)

    page = look(reviewer, address(live.repair))
    answer = refused(reviewer, live.repair, "decide", 409, **deciding(row, "rework"))

    assert "Neither while resin is live: decide on them when the packer is out." in page.text
    assert "its crew watches a clock" in answer.text


@pytest.mark.parametrize(
    ("roles", "says"),
    [
        (["town engineer"], "By the contract only town engineer may accept something as it is."),
        ([], "The contract names nobody in particular who may accept something as it is."),
    ],
)
def test_who_may_accept_is_said(proved: ProvedRepair, roles: list[str], says: str) -> None:
    """As the waiver says who may let go."""
    contract_of(proved.repair, accepts_as_is=roles)
    NonconformanceFactory(repair=proved.repair)

    assert says in look(proved.reviewer, address(proved.repair)).text


@pytest.mark.django_db
def test_accepting_it_does_not_close_the_requirement_and_the_form_says_so(
    reviewer: Account,
) -> None:
    """Letting the requirement go decides on the nonconformance, too; the other way round not."""
    contract = RequirementSetFactory(requirements=[{"code": "wet_out_photo", "source": "invented"}])
    repair = RepairFactory(work_order__requirement_set=contract)
    row = NonconformanceFactory(repair=repair, code="wet_out_photo", words="no photo")
    said = "Accepting it as is does not close the requirement “Photo of the wet-out sleeve”"

    page = look(reviewer, address(repair))
    sent(reviewer, repair, "waive", requirement="wet_out_photo", name="Ina Invented",
         role="engineer", reason="seen on site")  # fmt: skip

    assert said in page.text
    assert "that decides on this as well" in page.text
    row.refresh_from_db()
    assert row.disposition == "waived"
    other = NonconformanceFactory(repair=repair, code="seen", words="a fold")
    assert "does not close the requirement" not in look(reviewer, address(repair)).text
    sent(reviewer, repair, "decide", **deciding(other, "accept as is", **ENGINEER))
    other.refresh_from_db()
    assert other.accepted_by_name == "Ina Invented"


def test_an_old_page_is_told_which_attempt_is_under_way_and_why(proved: ProvedRepair) -> None:
    """The second decision of two that were sent from one page finds attempt 2 there."""
    first = NonconformanceFactory(repair=proved.repair, code="fold", words="a fold")
    second = NonconformanceFactory(repair=proved.repair, code="spot", words="a dry spot")
    decide(
        nonconformance=first, disposition="rework", reason="grind it off", by=proved.reviewer,
        now=now(),
    )  # fmt: skip

    body = {"attempt": "1", **deciding(second, "dig and refer")}
    page = page_of(
        client_of(proved.reviewer).post(address(proved.repair, "decide"), body), status=409
    )

    assert "This page showed attempt 1, and attempt 2 is under way, opened by this: " in page.text
    assert "rework, because attempt 1 was not as required: a fold." in page.text
    second.refresh_from_db()
    assert second.disposition == ""


@pytest.mark.django_db
def test_refusals_use_the_words_of_the_page(reviewer: Account) -> None:
    """No code of a requirement, no name of a field, no id."""
    contract = RequirementSetFactory(
        requirements=[
            {"code": code, "source": "invented"} for code in ("lots_traceable", "hold_test")
        ]
    )
    repair = RepairFactory(work_order__requirement_set=contract)
    row = NonconformanceFactory(repair=repair, code="seen")
    elsewhere = EvidenceFactory()
    waiver = {"requirement": "hold_test", "name": "Ina", "role": "engineer", "reason": "seen"}
    sent(reviewer, repair, "waive", **waiver)

    judged = refused(reviewer, repair, "judge", 409, requirement="lots_traceable", reason="fine")
    twice = refused(reviewer, repair, "waive", 409, **waiver)
    files = refused(
        reviewer, repair, "decide", 422, **deciding(row, "dig and refer"),
        evidence=[str(elsewhere.pk)],
    )  # fmt: skip

    assert "“Lots known and in date” is incomplete:" in judged.text
    assert "lots_traceable" not in judged.text.lower()
    assert "“Hold test of the packer” is let go already." in twice.text
    assert "Files that show it: expected a file of this repair." in files.text
    assert str(elsewhere.pk) not in files.text
    assert Waiver.objects.count() == 1
