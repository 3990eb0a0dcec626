"""A foretold cold spell lengthens the cures a plan reckons with; a warm one shortens none."""

from datetime import timedelta

import pytest

from dispatch.domain.what_if import Supposed
from dispatch.models import WallForecast
from dispatch.plan_facts.facts import plan_facts
from dispatch.services.foretell import foretell_wall
from repairs.models import Account, Repair
from tests.callers import API, signed_in
from tests.dispatch.plan_rows import Company, a_company
from tests.factories import KitTypeFactory, RepairFactory, now
from tests.proved_repair import prescribed

pytestmark = pytest.mark.django_db
HOLD_AT_20_C_S, HOLD_AT_10_C_S = 105 * 60, 240 * 60
"""The invented chart of the tests: 105 min at 20 degC, 240 min at 10 degC."""


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return a company without repairs."""
    return a_company(dispatcher, repairs=0)


@pytest.fixture
def repair(company: Company) -> Repair:
    """Return a repair that was prescribed for a wall of 20 degC by the real chart."""
    KitTypeFactory()
    made: Repair = RepairFactory(run__upstream__latitude=10.03)
    prescribed(company.dispatcher, made, wall_c=20.0)
    return made


def cure_s(company: Company, days: int = 3) -> int:
    """Return the cure that a plan of some days reckons with."""
    facts = plan_facts(starts_on=company.tomorrow, days=days, supposed=Supposed(), now=now())
    (planned,) = facts.problem.repairs
    return planned.cure_s


def foretell(company: Company, repair: Repair, day: int, wall_c: float) -> WallForecast:
    """Say how cold it will be so many days after tomorrow."""
    return foretell_wall(
        site=repair.run.site, day=company.tomorrow + timedelta(days=day), wall_c=wall_c,
        source="invented", by=company.dispatcher, now=now(),
    )  # fmt: skip


def test_the_coldest_day_of_the_plan_counts(company: Company, repair: Repair) -> None:
    """Which day it will be is what the plan decides; a day beyond it does not count."""
    assert cure_s(company) == HOLD_AT_20_C_S

    foretell(company, repair, 0, 21.0)
    foretell(company, repair, 2, 10.0)

    assert cure_s(company) == HOLD_AT_10_C_S
    assert cure_s(company, days=2) == HOLD_AT_20_C_S


def test_a_warm_forecast_shortens_nothing(company: Company, repair: Repair) -> None:
    """The declared wall and the maker's chart stand."""
    foretell(company, repair, 0, 30.0)

    assert cure_s(company) == HOLD_AT_20_C_S


def test_the_newest_word_counts(company: Company, repair: Repair) -> None:
    """A forecast is said anew every morning."""
    foretell(company, repair, 0, 10.0)
    foretell(company, repair, 0, 20.0)

    assert WallForecast.objects.count() == 1
    assert cure_s(company) == HOLD_AT_20_C_S


def test_colder_than_the_chart_nobody_plans_by_a_guess(company: Company, repair: Repair) -> None:
    """The repair is listed with its reason, and the plan goes on without it."""
    foretell(company, repair, 0, 2.0)

    facts = plan_facts(starts_on=company.tomorrow, days=3, supposed=Supposed(), now=now())

    assert facts.problem.repairs == ()
    assert [each.repair for each in facts.not_planned] == [repair]


def test_a_forecast_is_said_by_the_api(company: Company, repair: Repair) -> None:
    """In either unit; what makes no sense is named."""
    caller, body = signed_in(company.dispatcher), {
        "site": str(repair.run.site_id), "day": company.tomorrow.isoformat(),
        "wall_temperature": {"value": 50, "unit": "degF"}, "source": "ground probe",
    }  # fmt: skip

    said = caller.post(f"{API}/wall-forecasts", body)
    wrong = caller.post(
        f"{API}/wall-forecasts", {**body, "wall_temperature": {"value": 90, "unit": "degC"}}
    )

    assert said.status_code == 201, said.json()
    assert WallForecast.objects.get().wall_c == pytest.approx(10.0)
    assert [each["site"] for each in caller.get(f"{API}/wall-forecasts").json()["results"]] == [
        repair.run.site.ref
    ]
    assert wrong.status_code == 422
    assert "wall_temperature" in str(wrong.json())
