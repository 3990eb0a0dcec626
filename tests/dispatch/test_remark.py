"""A slip that is stored is told, so that no crew believes what did not happen."""

from uuid import uuid4

import pytest

from repairs.models import Prescription
from tests.callers import post_event, with_token
from tests.factories import now
from tests.field_sequence import event
from tests.proved_repair import ProvedRepair, a_planned_repair


@pytest.fixture
def planned(db: None) -> ProvedRepair:  # noqa: ARG001 - rows need the database
    """Return a repair that is prescribed and assigned."""
    return a_planned_repair()


def _told(planned: ProvedRepair, kind: str, data: dict[str, object], **more: object) -> list[str]:
    sent = {**event(planned.repair.id, kind, now(), data), **more}
    answer = post_event(with_token(planned.lead), sent, **{"Device-Time": now().isoformat()})
    assert answer.status_code == 201, answer.json()
    return list(answer.json()["remarks"])


def _prescribe_two_sleeves(planned: ProvedRepair) -> None:
    row = Prescription.objects.get(repair=planned.repair)
    assert row.result is not None
    Prescription.objects.filter(pk=row.pk).update(result={**row.result, "sleeve_count": 2})


def test_an_event_in_order_is_stored_without_a_word(planned: ProvedRepair) -> None:
    """Nothing odd, nothing said."""
    assert _told(planned, "deflated", {}) == []


def test_a_sleeve_that_was_not_said_is_told(planned: ProvedRepair) -> None:
    """With two sleeves prescribed, a step without its sleeve counts for the first."""
    _prescribe_two_sleeves(planned)

    assert _told(planned, "deflated", {}) == ["sleeve not said: counted for sleeve 1 of 2"]
    assert _told(planned, "deflated", {"sleeve": 2}) == []


def test_a_correction_of_the_measuring_that_corrects_nothing_is_told(
    planned: ProvedRepair,
) -> None:
    """A reason alone; a datum that is no end of the run; a real one is taken without a word."""
    (nothing,) = _told(planned, "measuring_corrected", {"reason": "slip"})
    (nowhere,) = _told(planned, "measuring_corrected", {"reason": "slip", "datum": "AP-NONE"})
    right = {"reason": "slip", "datum": planned.repair.run.upstream.ref}

    assert nothing.startswith("nothing is corrected: say one of")
    assert nowhere.startswith("AP-NONE is no end of this run")
    assert _told(planned, "measuring_corrected", right) == []


def test_a_sleeve_beyond_the_prescription_is_told(planned: ProvedRepair) -> None:
    """Sleeve 9 of one is a slip of the finger."""
    assert _told(planned, "deflated", {"sleeve": 9}) == ["sleeve 9 was reported, prescribed are 1"]


def test_a_correction_that_corrects_nothing_is_told(planned: ProvedRepair) -> None:
    """Another kind, another repair, or an event that is not there."""
    arrived = event(planned.repair.id, "arrived", now(), {})
    post_event(with_token(planned.lead), arrived)

    assert "'arrived', not 'deflated'" in _told(planned, "deflated", {}, corrects=arrived["id"])[0]
    assert _told(planned, "arrived", {}, corrects=str(uuid4())) == [
        "the event it corrects has not come in yet"
    ]
    assert _told(planned, "arrived", {}, corrects=arrived["id"]) == []


def test_a_phone_that_never_told_its_time_is_asked_to(planned: ProvedRepair) -> None:
    """Without Device-Time a wrong clock cannot be told."""
    sent = event(planned.repair.id, "arrived", now(), {})
    answer = post_event(with_token(planned.lead), sent)

    assert "Device-Time" in answer.json()["remarks"][0]
