"""From stored events to the durations a plan reckons with."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from dispatch.domain.plan.alike import Alike
from dispatch.domain.plan.durations import KeptOut, Step
from dispatch.domain.plan.observed import LeftOut
from dispatch.domain.plan.repair_durations import RepairDurations
from dispatch.plan_facts.durations import durations_for
from dispatch.plan_facts.observed import observed
from repairs.models import Prescription
from tests.contract_example import CURE_CHART
from tests.dispatch.visit_example import MINUTES
from tests.factories import AccessPointFactory, CrewFactory, RepairFactory, now
from tests.proof_factories import AssignmentFactory, FieldEventFactory, PrescriptionFactory

pytestmark = pytest.mark.django_db


def a_visit(crew: Any, day: int, *, cure: float = 122, place: Any = None, **more: Any) -> Any:
    """Store the events of a visit, some days ago; returns the repair."""
    repair = RepairFactory(**({} if place is None else {"datum": place}))
    start = now() - timedelta(days=day, hours=8) + timedelta(minutes=more.pop("start_min", 0))
    told = MINUTES | {"arrived": more.pop("arrived_min", 0)}
    AssignmentFactory(repair=repair, crew=crew, starts_at=start, ends_at=start + timedelta(hours=3))
    for kind, minutes in told.items():
        late = cure - 122 if minutes >= MINUTES["deflated"] else 0
        at = start + timedelta(minutes=minutes + late)
        FieldEventFactory(
            repair=repair, kind=kind, device_time=at, received_at=at + timedelta(seconds=40), **more
        )
    return repair


def times_of(row: Prescription, *crews: Any, wall_c: float | None = None) -> RepairDurations:
    """Return the durations of a prescription's repair."""
    key = row.repair.pk
    walls = {} if wall_c is None else {key: wall_c}
    return durations_for([row.repair], {key: row}, crews, now(), walls_c=walls)[key]


def test_ten_visits_of_a_crew_are_learned() -> None:
    """Set-up 40 min and 18 to the inflation; the cures 15 to 24 min over a hold of 105."""
    crew = CrewFactory(code="NORTH")
    for day in range(1, 11):
        a_visit(crew, day, cure=119 + day)
    a_visit(crew, 20, cure=60)
    a_visit(crew, 30, offset_low_s=-900.0)

    found = observed(now=now())
    times = times_of(PrescriptionFactory(), crew)

    assert (times.setup_s, times.finish_s) == (58 * 60, 20 * 60)
    assert (times.cure_s, times.cure_bound_s) == ((105 + 19) * 60, (105 + 23) * 60)
    assert times.forecasts[Step.SET_UP].alike is Alike.CREW_DIAMETER
    assert times.forecasts[Step.CURE].count == 10
    assert found.learned.kept_out == {(Step.CURE, KeptOut.BELOW_THE_CHART): 1}
    assert found.left_out == {LeftOut.CLOCK_IN_DOUBT: 4}


def test_a_drive_between_two_repairs_is_observed() -> None:
    """Left at minute 200, arrived at 215, some 5.5 km away."""
    crew = CrewFactory()
    a_visit(crew, 1)
    a_visit(crew, 1, start_min=215, place=AccessPointFactory(latitude=10.05))

    (trip,) = observed(now=now()).trips

    assert trip.seconds == pytest.approx(900, abs=2)
    assert trip.great_circle_m == pytest.approx(5560, abs=1)


def test_asking_again_costs_one_query_until_another_crew_has_left() -> None:
    """Three queries the first time, however many events; then one."""
    crew = CrewFactory()
    for day in range(1, 5):
        a_visit(crew, day)
    moment = now()

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            observed(now=moment)
        return len(caught)

    assert (queries(), queries()) == (3, 1)
    a_visit(crew, 6)
    assert len(observed(now=moment).learned.over_s[Step.SET_UP, ("", "", "")]) == 4

    newest = a_visit(crew, 0, start_min=60)
    assert newest.field_events.count() == len(MINUTES)
    assert len(observed(now=now()).learned.over_s[Step.SET_UP, ("", "", "")]) == 6


def at_20_c(wall_c: float = 20.0, **result: Any) -> Prescription:
    """Return a prescription with the invented chart, declared at a temperature."""
    row = PrescriptionFactory()
    chart = {
        "rows": [{"temperature_c": t, "minutes": m} for t, m in CURE_CHART["rows"]],
        "clock_start": "inflation",
        "rounding_min": 5.0,
        "version": "1",
        "source": "invented",
    }
    row.result |= {"cure_chart": chart, "working_chart": chart, "model_allowance": 0.1} | result
    row.inputs = {"conditions": {"wall_temperature_c": wall_c, "resin_temperature_c": 20.0}}
    row.save()
    return row


@pytest.mark.parametrize(
    ("wall_c", "hold_min", "bound_min"),
    [(None, 105, 180), (25.0, 105, 180), (16.5, 160, 180), (15.0, 160, 260), (10.0, 240, 260)],
)
def test_the_colder_of_forecast_and_declared_gives_the_hold(
    wall_c: float | None, hold_min: float, bound_min: float
) -> None:
    """A warm forecast shortens nothing; the bound reckons with a sensor 1 K off, and 20 min."""
    times = times_of(at_20_c(), wall_c=wall_c)

    assert (times.cure_s, times.cure_bound_s) == (hold_min * 60, bound_min * 60)


def test_what_was_prescribed_is_never_undercut() -> None:
    """The crew was told 130 min, whatever the chart says by now."""
    assert times_of(at_20_c(cure_min=130.0)).cure_s == 130 * 60


def test_the_own_times_of_a_crew_count_only_where_it_is_known() -> None:
    """Ten visits each: one crew sets up in 40 min, the other in 55."""
    quick, slow = CrewFactory(code="QUICK"), CrewFactory(code="SLOW")
    for day in range(1, 11):
        a_visit(quick, day)
        a_visit(slow, day, arrived_min=-15)

    row = PrescriptionFactory()

    assert times_of(row, slow).setup_s == (55 + 18) * 60
    assert times_of(row, quick, slow).setup_s == times_of(row).setup_s == (40 + 18) * 60


def test_a_cancelled_assignment_names_no_crew() -> None:
    """Who was not sent was not there."""
    crew = CrewFactory()
    repair = a_visit(crew, 1)
    repair.assignments.update(cancelled_at=now())

    assert observed(now=now()).learned.over_s == {}


def test_where_the_chart_is_silent_nothing_is_forecast() -> None:
    """Colder than the coldest row: nobody plans by a guess."""
    with pytest.raises(KeyError):
        times_of(at_20_c(), wall_c=9.9)
    with pytest.raises(KeyError):
        times_of(at_20_c(cure_min=None))


def test_nothing_of_the_future_or_of_long_ago_is_read() -> None:
    """Seen from before its end the visit is not there; half a year later it is forgotten."""
    a_visit(CrewFactory(), 0)
    finish = (Step.FINISH, ("", "", ""))
    assert finish in observed(now=now()).learned.over_s

    assert finish not in observed(now=now() - timedelta(hours=5)).learned.over_s
    assert observed(now=now() + timedelta(days=182)).learned.over_s == {}
