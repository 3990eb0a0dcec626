"""A crew's days out of its rows: who is qualified, what is in test and in date, on each date."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from dispatch.domain.plan.problem import CrewDay
from dispatch.domain.what_if import Supposed
from dispatch.models import Equipment, KitStock, Lot, Qualification
from dispatch.plan_facts.facts import plan_facts
from repairs.models import Account, Repair
from tests.dispatch.plan_rows import Company, a_company
from tests.factories import EquipmentFactory, KitStockFactory, WorkHoursFactory, now, today

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return one crew and a repair."""
    return a_company(dispatcher, crews=1, repairs=1)


def days_of(company: Company, days: int = 3, starts_on: date | None = None) -> list[CrewDay]:
    """Return the crew-days from tomorrow on."""
    first = starts_on or company.tomorrow
    at = now() if starts_on is None else datetime.combine(first, time(), ZoneInfo("UTC")) - DAY
    facts = plan_facts(starts_on=first, days=days, supposed=Supposed(), now=at)
    return list(facts.problem.crew_days)


def test_a_certificate_counts_until_its_last_day(company: Company) -> None:
    """On the day it ends it is good, on the next it is not."""
    Qualification.objects.update(expires_on=company.tomorrow)

    found = days_of(company)

    assert [len(day.qualifications) for day in found] == [1, 0, 0]


def test_a_packer_counts_until_its_test_is_due_and_as_long_as_it_is_in_use(
    company: Company,
) -> None:
    """One in test for a day, one for long but out of use, one whole."""
    Equipment.objects.update(test_due_on=company.tomorrow)
    EquipmentFactory(crew=company.crews[0], out_of_use="burst")
    EquipmentFactory(crew=company.crews[0], limit_kpa=70.0)

    found = days_of(company)

    assert [len(day.packers) for day in found] == [2, 1, 1]
    assert found[2].packers[0].limit_kpa == 70.0


def test_a_kit_that_goes_off_in_these_days_is_not_planned_on(company: Company) -> None:
    """Of a day's plan it is part; of three days' plan it is not."""
    KitStock.objects.update(quantity=2)
    Lot.objects.update(expires_on=company.tomorrow)
    KitStockFactory(crew=company.crews[0], quantity=3)

    assert days_of(company, days=1)[0].kits == {"KIT-300": 5}
    assert {day.kits["KIT-300"] for day in days_of(company, days=3)} == {3}


def test_a_date_counts_before_its_weekday(company: Company) -> None:
    """Short on one date, off on the next, as usual on the third."""
    crew = company.crews[0]
    short, off = company.tomorrow, company.tomorrow + DAY
    WorkHoursFactory(crew=crew, weekday=None, on=short, begins=time(9), ends=time(12))
    WorkHoursFactory(crew=crew, weekday=None, on=off, begins=None, ends=None)

    found = days_of(company)

    assert [day.ends_s - day.starts_s for day in found] == [3 * 3600, 9 * 3600]
    assert [day.day for day in found] == [0, 2]


@pytest.mark.parametrize(
    ("on", "hours"), [(date(2027, 3, 27), 10 - 1), (date(2026, 10, 24), 10 + 1)]
)
def test_a_night_shift_over_the_change_of_clocks_is_as_long_as_it_is(
    company: Company, on: date, hours: int
) -> None:
    """From eight in the evening to six: an hour less in spring, one more in autumn."""
    company.crews[0].work_hours.update(begins=time(20), ends=time(6))

    found = days_of(company, days=1, starts_on=on)

    assert found[0].ends_s - found[0].starts_s == hours * 3600


def test_lunch_is_on_the_crews_clock(company: Company) -> None:
    """Half an hour from half past eleven on, four and a half hours into the shift."""
    crew = company.crews[0]
    crew.lunch_from, crew.lunch_until, crew.lunch_min = time(11, 30), time(13), 30
    crew.save()

    day = days_of(company, days=1)[0]

    assert day.lunch is not None
    assert day.lunch.earliest_s - day.starts_s == 4.5 * 3600
    assert (day.lunch.length_s, day.lunch.in_cure) == (1800, False)


def test_the_due_day_is_the_repairs_own_or_the_orders_promise(company: Company) -> None:
    """The promise of the order counts until the repair has a day of its own."""
    repair = company.repairs[0]
    repair.work_order.promised_by = today() + 4 * DAY
    repair.work_order.save()

    def due() -> int | None:
        facts = plan_facts(starts_on=company.tomorrow, days=2, supposed=Supposed(), now=now())
        return facts.problem.repair[repair.ref].due_day

    assert due() == 3
    Repair.objects.update(due_on=today())
    assert due() == -1
