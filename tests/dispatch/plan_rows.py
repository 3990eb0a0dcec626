"""A small invented company whose days can be planned: a yard, two crews, some repairs."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from dispatch.models import Crew, Plan, PlanRun, Yard
from dispatch.services.plan_ask import ask_for_plan
from duework.runner import run_due
from repairs.models import Account, Repair
from tests.factories import (
    CrewFactory,
    RepairFactory,
    WorkHoursFactory,
    YardFactory,
    now,
    today,
)
from tests.proof_factories import PrescriptionFactory
from tests.proved_repair import a_ready_crew

STEPS = 60
"""Enough for a few repairs, and the same plan twice."""


@dataclass(frozen=True)
class Company:
    """Who goes out, and what waits to be done."""

    yard: Yard
    crews: tuple[Crew, ...]
    repairs: tuple[Repair, ...]
    dispatcher: Account

    @property
    def tomorrow(self) -> date:
        """Return the day that is planned."""
        return today() + timedelta(days=1)


def a_company(dispatcher: Account, *, crews: int = 2, repairs: int = 4) -> Company:
    """Make crews that work every day from seven to four, and repairs near their yard."""
    yard = YardFactory()
    made = tuple(a_planned_crew(yard, code=f"CREW-{n}") for n in range(crews))
    waiting = tuple(a_waiting_repair(n) for n in range(repairs))
    return Company(yard, made, waiting, dispatcher)


def a_planned_crew(yard: Yard, **given: Any) -> Crew:
    """Make a crew with all that is needed, which works every day."""
    crew: Crew = CrewFactory(yard=yard, most_overtime_min=60, **given)
    a_ready_crew(crew=crew)
    for weekday in range(7):
        WorkHoursFactory(crew=crew, weekday=weekday, begins=time(7), ends=time(16))
    return crew


def a_waiting_repair(number: int = 0, **given: Any) -> Repair:
    """Make a repair with a prescription, some kilometres from the others."""
    repair: Repair = RepairFactory(run__upstream__latitude=10.0 + 0.03 * (number + 1), **given)
    PrescriptionFactory(repair=repair)
    return repair


def ask(company: Company, *, days: int = 1, **given: Any) -> PlanRun:
    """Ask for a plan from tomorrow on."""
    return ask_for_plan(
        **{
            "starts_on": company.tomorrow,
            "days": days,
            "by": company.dispatcher,
            "now": now(),
            "iterations": STEPS,
            **given,
        }
    )


def planned(company: Company, **given: Any) -> Plan:
    """Return the plan that was asked for, made by due work."""
    run = ask(company, **given)
    run_due()
    run.refresh_from_db()
    assert run.plan is not None, run.said
    return run.plan


def at(on: date, hour: int, zone: Any) -> datetime:
    """Return an instant on a wall clock."""
    return datetime.combine(on, time(hour), tzinfo=zone)
