"""What is set before any plan, and could never be kept, is refused with the field and why."""

from datetime import timedelta
from typing import Any

import pytest

from dispatch.models import Pin, WallForecast, WorkHours
from repairs.models import Account
from tests.callers import API, signed_in
from tests.dispatch.plan_rows import Company, a_company
from tests.factories import today

pytestmark = pytest.mark.django_db


@pytest.fixture
def company(dispatcher: Account) -> Company:
    """Return one crew and one repair."""
    return a_company(dispatcher, crews=1, repairs=1)


def faults(company: Company, path: str, body: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Return what is wrong with a body, each as field, found and expected."""
    answer = signed_in(company.dispatcher).post(f"{API}/{path}", body)
    assert answer.status_code == 422, answer.json()
    return [(each["field"], each["found"], each["expected"]) for each in answer.json()["errors"]]


@pytest.mark.parametrize(
    ("body", "field", "found", "expected"),
    [
        ({"begins": "07:00", "ends": "07:00"}, "ends", "07:00", "another time than it begins"),
        ({"begins": "25:00", "ends": "16:00"}, "begins", "'25:00'", "a time such as 07:00"),
        ({"begins": "07:00", "ends": None}, "ends", "nothing", "both begins and ends"),
        ({"begins": None, "ends": "16:00"}, "begins", "nothing", "both begins and ends"),
        ({"weekday": None}, "weekday", "nothing", "a weekday or a date"),
        ({"on": "2026-12-24"}, "weekday", "a weekday and a date", "a weekday or a date"),
    ],
)
def test_hours_that_are_none_are_named(
    company: Company, body: dict[str, Any], field: str, found: str, expected: str
) -> None:
    """From seven to seven is no day; half of a day is none either; null is nothing."""
    path = f"crews/{company.crews[0].pk}/hours"

    ((wrong, was, right),) = faults(company, path, {"weekday": 0, **body})

    assert (wrong, was) == (field, found)
    assert right.startswith(expected)
    assert WorkHours.objects.get(weekday=0).ends != WorkHours.objects.get(weekday=0).begins


def test_hours_over_midnight_are_hours(company: Company) -> None:
    """A night shift ends before it begins, on the clock."""
    crew = company.crews[0]

    answer = signed_in(company.dispatcher).post(
        f"{API}/crews/{crew.pk}/hours", {"weekday": 0, "begins": "22:00", "ends": "06:00"}
    )

    assert answer.status_code == 201, answer.json()


def test_a_pin_of_a_day_gone_by_or_of_a_crew_nobody_sends_is_refused(company: Company) -> None:
    """No plan could keep it."""
    repair, crew = company.repairs[0], company.crews[0]
    body = {"repair": str(repair.pk), "reason": "invented"}
    gone = (today() - timedelta(days=2)).isoformat()

    assert faults(company, "pins", {**body, "on": gone})[0][:2] == ("on", gone)
    crew.work_hours.all().delete()
    assert faults(company, "pins", {**body, "crew": crew.code}) == [
        ("crew", f"{crew.code}, which has no hours", "a crew with a yard and hours")
    ]
    assert not Pin.objects.exists()


@pytest.mark.parametrize("days", [-2, 732])
def test_a_forecast_of_days_nobody_plans_is_refused(company: Company, days: int) -> None:
    """Before yesterday, or beyond two years: the day is named with those that would be right."""
    day = (today() + timedelta(days=days)).isoformat()
    body = {
        "site": str(company.repairs[0].run.site_id),
        "day": day,
        "wall_temperature": {"value": 9, "unit": "degC"},
        "source": "invented",
    }

    ((field, found, expected),) = faults(company, "wall-forecasts", body)

    assert (field, found) == ("day", day)
    assert expected.startswith("a day from ")
    assert not WallForecast.objects.exists()
