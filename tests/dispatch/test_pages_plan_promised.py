"""What was promised and is kept no longer: counted by repairs, and each with its true cause."""

from datetime import timedelta

import pytest

from dispatch.models import Plan
from dispatch.plan_facts.plan_reading import read_plan
from dispatch.services.foretell import foretell_wall
from dispatch.services.plan_by_hand import Put, move_stop
from dispatch.services.plan_publish import publish_plan
from repairs.models import Account, Prescription, Repair
from tests.dispatch.plan_pages import page_address
from tests.dispatch.plan_rows import Company, a_company, planned
from tests.factories import KitTypeFactory, RepairFactory, now
from tests.page_reader import look
from tests.proved_repair import prescribed

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return two crews and four repairs."""
    return a_company(dispatcher)


def published(company: Company, **given: object) -> Plan:
    """Return a plan by which the crews were sent."""
    return publish_plan(plan=planned(company, **given), by=company.dispatcher, now=now())


def test_a_promised_repair_that_gets_too_cold_is_not_lost_from_the_figures(
    dispatcher: Account,
) -> None:
    """Two of priority A were promised; a wall of 2 degC is foretold for one, below its chart."""
    company = a_company(dispatcher, repairs=1)
    KitTypeFactory()
    cold = RepairFactory(run__upstream__latitude=10.03)
    prescribed(dispatcher, cold, wall_c=20.0)
    Repair.objects.update(priority="A")
    crews = {stop.repair_id: stop.crew.code for stop in published(company).stops.all()}
    assert len(crews) == 2
    foretell_wall(
        site=cold.run.site, day=company.tomorrow, wall_c=2.0, source="invented probe",
        by=dispatcher, now=now(),
    )  # fmt: skip

    again = planned(company)

    figures = read_plan(again).figures()
    assert (figures.served_a, figures.wanted_a, figures.promises) == (1, 2, 1)
    page = look(dispatcher, page_address(again))
    assert "Priority A 1 of 2" in page.text.replace("  ", " ")
    assert f"Promised before: crew {crews[cold.pk]}," in page.text
    day = f"{company.tomorrow:%a} {company.tomorrow.day} {company.tomorrow:%b %Y}"
    assert (
        f"at 2 degC, foretold for site {cold.run.site.ref} on {day} (invented probe)" in page.text
    )
    assert "too cold for its cure chart" in page.text


def test_a_cold_that_was_declared_is_said_to_be_declared(dispatcher: Account) -> None:
    """No forecast is to blame."""
    company = a_company(dispatcher, repairs=0)
    KitTypeFactory()
    cold = RepairFactory(run__upstream__latitude=10.03)
    prescribed(dispatcher, cold, wall_c=10.0)
    made = Prescription.objects.get(repair=cold)
    made.inputs["conditions"]["wall_temperature_c"] = 2.0
    Prescription.objects.filter(pk=made.pk).update(inputs=made.inputs)

    row = planned(company).left_out.get(repair=cold)

    assert row.code == "no_cure_time"
    assert f"at 2 degC, declared for site {cold.run.site.ref}" in row.words


def test_another_crew_and_another_day_are_one_promise_broken(
    company: Company, dispatcher: Account
) -> None:
    """It pays for two changes; one repair is elsewhere, and so says the page."""
    first = published(company, days=2)
    stop = first.stops.select_related("crew", "repair").order_by("pk").first()
    assert stop is not None
    crew = next(each for each in company.crews if each != stop.crew)
    other_day = company.tomorrow + timedelta(days=1 if stop.on == company.tomorrow else 0)

    draft = move_stop(
        plan=first, repair=stop.repair, put=Put(crew, other_day), by=dispatcher, now=now()
    )

    assert draft.figures["changes"] == 2
    assert read_plan(draft).figures().promises == 1
    assert "Promises broken 1" in look(dispatcher, page_address(draft)).text.replace("  ", " ")


@pytest.mark.parametrize(("lost", "words"), [("yard", "has no yard"), ("hours", "has no hours")])
def test_a_crew_that_lost_its_yard_or_hours_keeps_what_a_plan_gave_it(
    company: Company, lost: str, words: str
) -> None:
    """Nobody planned it by hand: the cause is what the crew lacks."""
    stop = published(company).stops.select_related("crew").order_by("pk").first()
    assert stop is not None
    if lost == "yard":
        stop.crew.yard = None
        stop.crew.save(update_fields=["yard"])
    else:
        stop.crew.work_hours.all().delete()

    row = planned(company).left_out.get(repair=stop.repair_id)

    assert row.code == "with_another_crew"
    assert f"is with crew {stop.crew.code}, which {words}" in row.words
    assert "by hand" not in row.words
