"""A repair set up in the cure of another: the same crew, two packers, and nothing else at once."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from dispatch.models import Assignment, Crew
from dispatch.services.assign import assign, cancel_assignment
from repairs.domain.problem import Refused
from repairs.models import Account, Repair
from tests.dispatch.plan_rows import a_waiting_repair
from tests.factories import EquipmentFactory, now
from tests.proved_repair import a_ready_crew

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def two_packers(crew: Crew) -> Crew:
    """Return crew one with two packers that serve."""
    a_ready_crew(crew=crew)
    EquipmentFactory(crew=crew)
    return crew


def give(
    crew: Crew,
    by: Account,
    at_h: float,
    *,
    beside: Assignment | None = None,
    repair: Repair | None = None,
) -> Assignment:
    """Give a repair to a crew for four hours, so many hours after tomorrow at this time."""
    starts = now() + 24 * HOUR + at_h * HOUR
    return assign(
        repair=repair or a_waiting_repair(),
        crew=crew,
        starts_at=starts,
        ends_at=starts + 4 * HOUR,
        by=by,
        now=now(),
        beside=beside,
    )


def codes(refused: pytest.ExceptionInfo[Refused]) -> set[str]:
    """Return the codes of a refusal."""
    return {str(each["code"]) for each in refused.value.reasons}


def test_two_repairs_of_a_crew_overlap_when_one_is_beside_the_other(
    two_packers: Crew, dispatcher: Account
) -> None:
    """Without that word the second is a double booking."""
    outer = give(two_packers, dispatcher, 0)

    with pytest.raises(Refused) as refused:
        give(two_packers, dispatcher, 2)
    inner = give(two_packers, dispatcher, 2, beside=outer)

    assert codes(refused) == {"double_booking"}
    assert inner.beside == outer


def test_one_packer_is_not_in_two_pipes(crew: Crew, dispatcher: Account) -> None:
    """The crew has one that serves: while it cures, nothing else is set up."""
    a_ready_crew(crew=crew)
    outer = give(crew, dispatcher, 0)

    with pytest.raises(Refused) as refused:
        give(crew, dispatcher, 2, beside=outer)

    assert codes(refused) == {"second_packer_missing"}


def test_a_second_packer_out_of_use_does_not_count(two_packers: Crew, dispatcher: Account) -> None:
    """Nor does one that serves neither pipe."""
    outer = give(two_packers, dispatcher, 0)
    row = two_packers.equipment.order_by("pk").first()
    assert row is not None
    row.out_of_use = "burst"
    row.save()

    with pytest.raises(Refused) as refused:
        give(two_packers, dispatcher, 2, beside=outer)

    assert codes(refused) == {"second_packer_missing"}


def test_the_only_packer_is_out_of_use(crew: Crew, dispatcher: Account) -> None:
    """Nothing is assigned to it until it is mended, and the reason is in words."""
    a_ready_crew(crew=crew)
    crew.equipment.update(out_of_use="burst on Friday")

    with pytest.raises(Refused, match="burst on Friday") as refused:
        give(crew, dispatcher, 0)

    assert codes(refused) == {"packer_out_of_use"}


def test_beside_is_during_the_other_one(two_packers: Crew, dispatcher: Account) -> None:
    """Five hours later the other is over."""
    outer = give(two_packers, dispatcher, 0)

    with pytest.raises(Refused) as refused:
        give(two_packers, dispatcher, 5, beside=outer)

    assert codes(refused) == {"not_beside"}


def test_the_inner_one_may_not_run_into_a_third(two_packers: Crew, dispatcher: Account) -> None:
    """It overlaps the one it is beside, and no other."""
    outer = give(two_packers, dispatcher, 0)
    give(two_packers, dispatcher, 5)

    with pytest.raises(Refused) as refused:
        give(two_packers, dispatcher, 2, beside=outer)

    assert codes(refused) == {"double_booking"}


def test_a_third_may_not_run_into_the_inner_one(two_packers: Crew, dispatcher: Account) -> None:
    """The crew is still at it when the outer one is over."""
    outer = give(two_packers, dispatcher, 0)
    give(two_packers, dispatcher, 2, beside=outer)

    with pytest.raises(Refused) as refused:
        give(two_packers, dispatcher, 5)

    assert codes(refused) == {"double_booking"}


def test_beside_another_crews_repair_is_nobody(two_packers: Crew, dispatcher: Account) -> None:
    """Nor beside what was taken back."""
    lead, _, _ = a_ready_crew()
    others = give(lead.crew, dispatcher, 0)
    mine = give(two_packers, dispatcher, 0)
    cancel_assignment(assignment=mine, reason="invented", by=dispatcher, now=now())
    mine.refresh_from_db()

    for outer in (others, mine):
        with pytest.raises(Refused) as refused:
            give(two_packers, dispatcher, 2, beside=outer)
        assert refused.value.faults[0].field == "beside"


def test_when_the_outer_one_is_taken_back_the_inner_stands_by_itself(
    two_packers: Crew, dispatcher: Account
) -> None:
    """And the crew's hours are free again around it."""
    outer = give(two_packers, dispatcher, 0)
    inner = give(two_packers, dispatcher, 2, beside=outer)

    cancel_assignment(assignment=outer, reason="invented", by=dispatcher, now=now())

    inner.refresh_from_db()
    assert (inner.beside, inner.cancelled_at) == (None, None)
    with pytest.raises(Refused):
        give(two_packers, dispatcher, 3)


def test_the_database_itself_refuses_what_is_beside_nothing(
    two_packers: Crew, dispatcher: Account
) -> None:
    """A constraint or a trigger stands behind the rule, for rows beside none."""
    outer = give(two_packers, dispatcher, 0)
    inner = give(two_packers, dispatcher, 2, beside=outer)

    with pytest.raises(IntegrityError, match="no_double_booking"), transaction.atomic():
        Assignment.objects.filter(pk=inner.pk).update(beside=None)
