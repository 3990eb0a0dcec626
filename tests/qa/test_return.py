"""A returned repair carries on what stands, asks for what the client named, and no more."""

from datetime import timedelta
from pathlib import Path

import pytest

from config.demo.evidence import film, photo
from qa.handover.package_facts import closeout_facts
from qa.models import CloseoutPackage, Closing
from qa.selectors import verdicts_of
from qa.services.answer import answer_package
from qa.services.close import close
from qa.services.waive import waive
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Repair
from tests.callers import post_batch, post_event, with_token
from tests.factories import AccountFactory, now
from tests.field_sequence import event
from tests.page_reader import look
from tests.proof_factories import ClosingFactory, PrescriptionFactory
from tests.proved_repair import ProvedRepair, a_proved_repair, do_due_work, hand_in


@pytest.fixture
def returned(db: None, tmp_path: Path) -> ProvedRepair:  # noqa: ARG001 - rows need the database
    """Return a repair that was closed and came back for its film."""
    proved = a_proved_repair(tmp_path)
    closing = close(repair=proved.repair, by=proved.reviewer, now=now())
    do_due_work()
    client = AccountFactory(role=Role.CLIENT.value, customer=proved.repair.work_order.customer)
    answer_package(
        package=CloseoutPackage.objects.get(closing=closing),
        answer="returned",
        reasons=[
            {"requirement": "post_repair_film", "note": "show the lower end closer"},
            {
                "requirement": "post_repair_film",
                "note": "too dark",
                "code": "unreadable",
                "timecode": "00:01",
            },
        ],
        note="",
        by=client,
        now=now(),
    )
    proved.repair.refresh_from_db()
    return proved


def _open(repair: Repair) -> dict[str, str]:
    judged = verdicts_of(repair, attempt=repair.attempt, now=now())
    return {each.code: each.verdict.reason for each in judged if not each.closes}


def test_only_what_the_client_named_is_open(returned: ProvedRepair) -> None:
    """Nothing of the installation is asked for again; both reasons for the film are told."""
    assert returned.repair.attempt == 2
    assert _open(returned.repair) == {
        "post_repair_film": "the client returned it: show the lower end closer; "
        "a file cannot be read or seen, at 00:01 of the film: too dark"
    }


def test_the_old_film_does_not_close_it_again(returned: ProvedRepair) -> None:
    """Closing attempt 2 without anything new is refused."""
    with pytest.raises(Refused) as refused:
        close(repair=returned.repair, by=returned.reviewer, now=now())

    assert refused.value.code == "not_proved"


def test_a_new_film_closes_it(returned: ProvedRepair, tmp_path: Path) -> None:
    """The crew hands in a new film; attempt 2 closes and gets a package of its own."""
    at = now() - timedelta(minutes=2)
    path = tmp_path / "again.mp4"
    film(path, title="again", repair_ref=returned.repair.ref, started_at=at, seconds=0.5)
    answer = hand_in(with_token(returned.lead), returned.repair, "post_repair_film", path, at)
    assert answer.status_code == 201, answer.json()
    do_due_work()

    assert _open(returned.repair) == {}
    closing = close(repair=returned.repair, by=returned.reviewer, now=now())
    do_due_work()

    assert closing.attempt == 2
    assert Closing.objects.filter(repair=returned.repair).count() == 2
    packages = CloseoutPackage.objects.filter(closing__repair=returned.repair)
    assert packages.exclude(ready_at=None).count() == 2


def test_the_package_tells_what_the_standing_sleeve_was_mixed_under(returned: ProvedRepair) -> None:
    """Attempt 2 was prescribed anew, a longer sleeve, and carried on: attempt 1's still lies."""
    own = returned.repair.prescriptions.get(number=1)
    PrescriptionFactory(
        repair=returned.repair,
        attempt=2,
        requirement_set=own.requirement_set,
        inputs=own.inputs,
        result={**own.result, "sleeve_length_m": own.result["sleeve_length_m"] + 1.0},
        frozen_at=now(),
    )
    first, second = (
        closeout_facts(row)
        for row in (
            Closing.objects.get(repair=returned.repair),
            ClosingFactory(repair=returned.repair, attempt=2, closed_at=now()),
        )
    )

    assert (second.repair.attempt, second.prescription.number) == (2, "1")
    assert second.prescription == first.prescription
    assert second.sleeves == first.sleeves != ()
    assert second.quantities == first.quantities


def test_the_timeline_says_what_was_an_earlier_attempts(returned: ProvedRepair) -> None:
    """Every step of attempt 1 names it in the package of attempt 2, none in its own."""
    again = event(returned.repair.id, "filmed", now(), {"note": "slower this time"})
    post_event(with_token(returned.lead), again, **{"Device-Time": now().isoformat()})
    first, second = (
        closeout_facts(row)
        for row in (
            Closing.objects.get(repair=returned.repair),
            ClosingFactory(repair=returned.repair, attempt=2, closed_at=now()),
        )
    )

    assert not any(step.note.startswith("Attempt") for step in first.timeline)
    notes = [(step.kind, step.note) for step in second.timeline]
    assert [note for kind, note in notes if kind == "mixing_started"] == ["Attempt 1."]
    assert [note for kind, note in notes if kind == "filmed"] == [
        "Attempt 1.", "slower this time",
    ]  # fmt: skip


def test_resin_mixed_anew_starts_from_nothing(returned: ProvedRepair) -> None:
    """A second installation proves itself: the first one's steps stand no more."""
    event = {
        "specversion": "1.0",
        "id": "8c8f8a3e-4a0e-4a7e-9f6e-1b2c3d4e5f60",
        "source": "phone",
        "type": "curewright.field.mixing_started",
        "subject": str(returned.repair.id),
        "time": now().isoformat(),
        "data": {
            "resin_temperature": {"value": 20, "unit": "degC"},
            "kit_lot": returned.lot.number,
            "lot_a": returned.lot.resin_lot_a,
            "lot_b": returned.lot.resin_lot_b,
        },
    }
    answer = post_batch(with_token(returned.lead), [event])
    assert [item["status"] for item in answer.json()] == ["stored"]

    assert len(_open(returned.repair)) > 10


def test_an_order_corrected_under_the_crews_feet_is_named(
    db: None,  # noqa: ARG001 - rows need the database
    tmp_path: Path,
) -> None:
    """More groundwater than the crew's prescription knows: mixing is a breach, closing waits."""
    proved = a_proved_repair(tmp_path)
    run = proved.repair.run
    run.groundwater_above_invert_m = 3.5
    run.changed_at = now()
    run.save()
    proved.repair.refresh_from_db()

    with pytest.raises(Refused) as refused:
        close(repair=proved.repair, by=proved.reviewer, now=now())

    assert "corrected after this prescription" in refused.value.detail


def test_a_waiver_alone_is_no_answer_to_a_return(returned: ProvedRepair, tmp_path: Path) -> None:
    """Let go again with nothing new beside it, the client would get the same package twice."""
    waive(
        repair=returned.repair, requirement="post_repair_film", name="Ina Invented",
        role="client's engineer", reason="by telephone", by=returned.reviewer, now=now(),
    )  # fmt: skip
    with pytest.raises(Refused) as refused:
        close(repair=returned.repair, by=returned.reviewer, now=now())
    assert refused.value.code == "not_proved"
    assert "The client returned attempt 1, and nothing was reported or handed in" in str(
        refused.value.detail
    )

    letter = tmp_path / "letter.jpg"
    photo(letter, sketch="kit_label", title="letter", lines=["invented"], at=now())
    hand_in(with_token(returned.lead), returned.repair, "other_photo", letter, now())
    do_due_work()

    assert close(repair=returned.repair, by=returned.reviewer, now=now()).attempt == 2


def test_the_page_says_why_there_is_another_attempt(returned: ProvedRepair) -> None:
    """The crew reads the client's own words, and what is asked of it."""
    page = look(returned.lead, f"/repairs/{returned.repair.pk}").text

    assert "Why there is attempt 2" in page
    assert "The client returned it: Filmed after the repair: show the lower end closer" in page
