"""What the office reads of a repair that no crew has, and of a prescription the order has left."""

from datetime import timedelta

import pytest

from qa.pages.before_the_crew import waits_for
from qa.services.close import close
from qa.services.decide import decide
from repairs.domain.progress import Stage
from tests.factories import AccountFactory, RepairFactory, now
from tests.page_reader import look
from tests.proof_factories import NonconformanceFactory
from tests.proved_repair import (
    ProvedRepair,
    a_planned_repair,
    a_proved_repair,
    a_ready_crew,
    assigned,
    prescribed,
)
from tests.repair_page import address

pytestmark = pytest.mark.django_db


@pytest.fixture
def closed(tmp_path_factory: pytest.TempPathFactory) -> ProvedRepair:
    """Return a repair that is closed."""
    proved = a_proved_repair(tmp_path_factory.mktemp("files"))
    close(repair=proved.repair, by=proved.reviewer, now=now())
    proved.repair.refresh_from_db()
    return proved


def test_the_next_step_of_what_no_crew_has() -> None:
    """First the prescription, then the crew; with a crew its own next step stands there."""
    lead, _, _ = a_ready_crew()
    repair, dispatcher = RepairFactory(), AccountFactory()

    ordered = look(dispatcher, address(repair)).text
    prescribed(dispatcher, repair)
    calculated = look(dispatcher, address(repair)).text
    assigned(dispatcher, repair, lead.crew, now() + timedelta(hours=1))
    given = look(dispatcher, address(repair)).text

    assert "Next step No prescription yet Calculate one for this attempt" in ordered
    assert "Next step No crew has it Give it to a crew, or plan it." in calculated
    assert "Next step Load the truck" in given
    assert given.count("Next step") == 1


def test_only_the_office_is_told_so() -> None:
    """A client cannot plan anything."""
    repair = RepairFactory()
    client = AccountFactory(role="client", customer=repair.work_order.customer)

    assert "No prescription yet" not in look(client, address(repair)).text


def test_what_is_not_fit_says_so() -> None:
    """No crew may be sent as it stands."""
    a_ready_crew()
    repair, dispatcher = RepairFactory(void_behind=None), AccountFactory()
    prescribed(dispatcher, repair)

    text = look(dispatcher, address(repair)).text

    assert "Next step It may not be repaired as it stands" in text
    assert "cannot tell" in text


def test_an_older_prescription_says_that_it_is() -> None:
    """The page shows its figures still, and that the order has changed since."""
    a_ready_crew()
    repair, dispatcher = RepairFactory(), AccountFactory()
    prescribed(dispatcher, repair)
    fresh = look(dispatcher, address(repair)).text
    repair.changed_at = now()
    repair.save()

    text = look(dispatcher, address(repair)).text

    said = "The order was corrected after this was calculated"
    assert said not in fresh
    assert f"{said}: it must be calculated again." in text
    assert "Next step Calculate the prescription again" in text


def test_a_crew_that_goes_with_an_older_one_reads_of_the_newer() -> None:
    """What it went out with is frozen; the newer calculation is named."""
    planned = a_planned_repair()
    planned.repair.changed_at = now()
    planned.repair.save()
    prescribed(planned.dispatcher, planned.repair)

    text = look(planned.lead, address(planned.repair)).text

    assert "Prescription 2 is newer; the crew has this one." in text


def test_a_closed_attempt_is_not_to_be_calculated_again(closed: ProvedRepair) -> None:
    """An order corrected afterwards says nothing about what was done."""
    closed.repair.changed_at = now()
    closed.repair.save()

    text = look(closed.reviewer, address(closed.repair)).text

    assert "Prescription 1" in text
    assert "corrected after this was calculated" not in text


def test_rework_says_what_stands_still(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Attempt 2 may need no crew at all: what is in the pipe stands."""
    proved = a_proved_repair(tmp_path_factory.mktemp("files"))
    row = NonconformanceFactory(repair=proved.repair, words="a fold")
    decide(nonconformance=row, disposition="rework", reason="x", by=proved.reviewer, now=now())
    proved.repair.refresh_from_db()

    waits = waits_for(proved.repair)

    assert waits is not None
    assert waits.words == "No prescription yet"
    assert waits.how.startswith("What was done in attempt 1 still stands. If a crew is to go")


def test_where_somebody_was_in_the_street_nothing_is_waited_for() -> None:
    """An assignment cancelled afterwards does not undo the work."""
    assert waits_for(RepairFactory(stage=Stage.FILMED.value)) is None
