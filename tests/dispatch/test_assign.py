"""Giving a repair to a crew: with every reason against it, and with its prescription frozen."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from dispatch.models import Assignment, Crew
from dispatch.services.assign import assign, cancel_assignment
from repairs.domain.problem import Refused
from repairs.models import Account, Prescription, Repair
from tests.callers import API, signed_in
from tests.factories import (
    AccountFactory,
    EquipmentFactory,
    KitStockFactory,
    KitTypeFactory,
    QualificationFactory,
    RepairFactory,
    now,
    today,
)
from tests.proof_factories import AssignmentFactory, PrescriptionFactory
from tests.proved_repair import a_ready_crew

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


@pytest.fixture
def ready(crew: Crew) -> Crew:
    """Return crew one with qualification, packer and kits in date."""
    a_ready_crew(crew=crew)
    return crew


@pytest.fixture
def repair(db: None) -> Repair:  # noqa: ARG001 - rows need the database
    """Return a repair with a prescription."""
    return PrescriptionFactory(repair=RepairFactory()).repair


def give(repair: Repair, crew: Crew, by: Account, **changed: Any) -> Assignment:
    """Assign from tomorrow on for five hours, unless told otherwise."""
    starts: datetime = changed.pop("starts_at", now() + DAY)
    given = {"starts_at": starts, "ends_at": starts + 5 * HOUR, **changed}
    return assign(repair=repair, crew=crew, by=by, now=now(), **given)


def reasons(repair: Repair, crew: Crew, by: Account, **changed: Any) -> list[str]:
    """Return the codes of all reasons against it."""
    with pytest.raises(Refused) as refused:
        give(repair, crew, by, **changed)
    return [str(reason.get("code")) for reason in refused.value.reasons]


def test_a_repair_is_given_and_its_prescription_frozen(
    repair: Repair, ready: Crew, dispatcher: Account
) -> None:
    """The crew goes out with what was calculated; the repair stands as planned."""
    given = give(repair, ready, dispatcher)

    repair.refresh_from_db()
    assert repair.stage == "planned"
    frozen = Prescription.objects.get()
    assert frozen.frozen_at is not None
    assert given.prescription == frozen


def test_the_frozen_prescription_stays_in_force(
    repair: Repair, ready: Crew, dispatcher: Account
) -> None:
    """A newer calculation does not change what the crew was sent out with."""
    given = give(repair, ready, dispatcher)
    PrescriptionFactory(repair=repair)

    answer = signed_in(dispatcher).get(f"{API}/assignments").json()["results"][0]

    assert answer["id"] == str(given.id)
    assert given.prescription.number == 1


def test_all_reasons_against_it_come_at_once(
    repair: Repair, crew: Crew, dispatcher: Account
) -> None:
    """An empty truck and an unqualified crew are told together with the short span."""
    found = reasons(repair, crew, dispatcher, ends_at=now() + DAY + HOUR, starts_at=now() + DAY)

    assert found == ["span_too_short", "qualification_missing", "packer_missing", "kit_missing"]


def test_what_expired_is_told_with_its_date(
    repair: Repair, crew: Crew, dispatcher: Account
) -> None:
    """Valid today is not enough: it must be valid on the work date, here in ten days."""
    soon = today() + 5 * DAY
    QualificationFactory(member__crew=crew, expires_on=soon)
    EquipmentFactory(crew=crew, test_due_on=soon)
    KitStockFactory(crew=crew, lot__kit_type=KitTypeFactory(), lot__expires_on=soon)

    found = reasons(repair, crew, dispatcher, starts_at=now() + 10 * DAY)

    assert found == [
        "qualification_expired",
        "packer_test_overdue",
        "kit_expired",
        "kit_missing",
    ]


def test_the_work_date_is_the_crews_own(repair: Repair, crew: Crew, dispatcher: Account) -> None:
    """At 23:30 UTC it is tomorrow in Auckland: what ends today has ended there."""
    crew.time_zone = "Pacific/Auckland"
    crew.save()
    a_ready_crew(crew=crew)
    late = datetime.combine(today() + DAY, datetime.min.time(), tzinfo=now().tzinfo) - HOUR / 2
    crew.equipment.update(test_due_on=late.date())

    assert reasons(repair, crew, dispatcher, starts_at=late) == ["packer_test_overdue"]
    crew.time_zone = "UTC"
    crew.save()
    give(repair, crew, dispatcher, starts_at=late)


def test_a_crew_is_booked_once(ready: Crew, repair: Repair, dispatcher: Account) -> None:
    """A second repair in the same hours clashes; right after the first one it does not."""
    first = give(repair, ready, dispatcher)
    second = PrescriptionFactory(repair=RepairFactory()).repair

    assert reasons(second, ready, dispatcher, starts_at=first.starts_at) == ["double_booking"]
    assert give(second, ready, dispatcher, starts_at=first.ends_at)


def test_a_repair_is_given_once(ready: Crew, repair: Repair, dispatcher: Account) -> None:
    """It must be taken back before another crew gets it."""
    give(repair, ready, dispatcher)

    assert reasons(repair, ready, dispatcher, starts_at=now() + 9 * DAY) == ["already_assigned"]


def test_taking_back_frees_crew_and_repair(
    ready: Crew, repair: Repair, dispatcher: Account
) -> None:
    """The row stays with its reason; the repair is ordered again and can be given anew."""
    first = give(repair, ready, dispatcher)

    done = cancel_assignment(assignment=first, reason="rain", by=dispatcher, now=now())
    again = cancel_assignment(assignment=first, reason="other", by=dispatcher, now=now())

    repair.refresh_from_db()
    assert (done.cancel_reason, again.cancel_reason) == ("rain", "rain")
    assert repair.stage == "ordered"
    assert give(repair, ready, dispatcher, starts_at=first.starts_at).pk != first.pk


def test_kits_promised_to_one_repair_are_not_free_for_another(
    crew: Crew, repair: Repair, dispatcher: Account
) -> None:
    """One kit on the truck serves one repair, however far apart the two are."""
    a_ready_crew(crew=crew)
    crew.kit_stock.update(quantity=1)
    give(repair, crew, dispatcher)
    second = PrescriptionFactory(repair=RepairFactory()).repair

    assert reasons(second, crew, dispatcher, starts_at=now() + 9 * DAY) == ["kit_missing"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"fitness": "no", "result": None}, "not_fit"),
        ({"fitness": "cannot tell"}, "not_fit"),
        ({"fitness": "yes after"}, None),
    ],
)
def test_only_a_fit_defect_is_given(
    ready: Crew, dispatcher: Account, changed: dict[str, Any], code: str | None
) -> None:
    """'No' and 'cannot tell' go back to the office; 'yes after' goes out with its condition."""
    unfit = PrescriptionFactory(repair=RepairFactory(), **changed).repair

    if code is None:
        assert give(unfit, ready, dispatcher)
    else:
        with pytest.raises(Refused) as refused:
            give(unfit, ready, dispatcher)
        assert refused.value.code == code


def test_without_a_prescription_nothing_is_given(ready: Crew, dispatcher: Account) -> None:
    """Nobody goes out without knowing what to install."""
    with pytest.raises(Refused) as refused:
        give(RepairFactory(), ready, dispatcher)

    assert refused.value.code == "no_prescription"


def test_an_assignment_takes_time(ready: Crew, repair: Repair, dispatcher: Account) -> None:
    """Ending at its start, or before, is malformed."""
    start = now() + DAY
    with pytest.raises(Refused) as refused:
        give(repair, ready, dispatcher, starts_at=start, ends_at=start)

    assert refused.value.faults[0].field == "ends_at"


def test_a_naive_time_is_refused_at_the_door(
    ready: Crew, repair: Repair, dispatcher: Account
) -> None:
    """Nobody guesses in which zone nine o'clock was meant."""
    body = {
        "repair": str(repair.id),
        "crew": ready.code,
        "starts_at": "2026-11-25T09:00:00",
        "ends_at": "2026-11-25T14:00:00+01:00",
    }

    answer = signed_in(dispatcher).post(f"{API}/assignments", body)

    assert answer.status_code == 422
    assert [error["field"] for error in answer.json()["errors"]] == ["starts_at"]


@pytest.mark.parametrize("written", ["inserted", "moved"])
@pytest.mark.parametrize(
    ("begin", "cancelled", "refused"),
    [
        (0 * HOUR, False, True),  # the same hours
        (5 * HOUR, False, False),  # begins where the other ends
        (5 * HOUR - timedelta(microseconds=1), False, True),  # a microsecond sooner
        (-5 * HOUR, False, False),  # ends where the other begins
        (-5 * HOUR + timedelta(microseconds=1), False, True),
        (0 * HOUR, True, False),  # taken back: it holds nothing
    ],
)
def test_the_database_itself_refuses_a_double_booking(
    ready: Crew, begin: timedelta, cancelled: bool, refused: bool, written: str
) -> None:
    """Even rows written past the service, or moved past it, cannot book a crew twice."""
    start = now()
    AssignmentFactory(crew=ready, starts_at=start, ends_at=start + 5 * HOUR)
    row = AssignmentFactory.build(
        repair=RepairFactory(),
        crew=ready,
        starts_at=start + 99 * HOUR,
        ends_at=start + 100 * HOUR,
        cancelled_at=start if cancelled else None,
    )
    row.prescription, row.assigned_by = PrescriptionFactory(repair=row.repair), AccountFactory()
    if written == "moved":
        row.save()
    row.starts_at, row.ends_at = start + begin, start + begin + 5 * HOUR

    if refused:
        with pytest.raises(IntegrityError, match="no_double_booking"), transaction.atomic():
            row.save()
    else:
        row.save()


@pytest.mark.parametrize(("days", "remarked"), [(-7, True), (1, False)])
def test_a_span_that_is_over_is_taken_with_a_remark(
    repair: Repair, ready: Crew, dispatcher: Account, days: int, remarked: bool
) -> None:
    """What was done on Monday may be entered on Tuesday; a slip in the date is told at once."""
    starts = now() + timedelta(days=days)
    body = {
        "repair": str(repair.pk),
        "crew": ready.code,
        "starts_at": starts.isoformat(),
        "ends_at": (starts + 5 * HOUR).isoformat(),
    }

    answer = signed_in(dispatcher).post(f"{API}/assignments", body)

    assert answer.status_code == 201, answer.json()
    assert any("This span is over already" in each for each in answer.json()["remarks"]) is remarked
