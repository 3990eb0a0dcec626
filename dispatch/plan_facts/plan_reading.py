"""A stored plan beside the problem it answers: what a page needs of both."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from dispatch.domain.day_strip import LaidDay, LaidStop, Piece, pieces
from dispatch.domain.plan.plan import late_days
from dispatch.domain.plan.problem import CrewDay, Problem
from dispatch.domain.plan.weights import Priority
from dispatch.domain.plan_horizon import Horizon
from dispatch.models import Plan, PlanLeftOut, PlanStop
from dispatch.plan_facts.crew_days import crew_day_ref
from dispatch.plan_facts.stored_problem import unpack

BROKEN_KINDS = frozenset({"moved", "left_out", "gone"})
"""What is different from what a crew was told, and more than another hour of the same day."""


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """What a plan is compared by; seconds, and `cost_s` in seconds of driving.

    Parameters
    ----------
    promises : int
        How many repairs are with another crew, on another day or nowhere, of those that a crew
        was told of. What it pays for counts crew and day apart.
    served_a, wanted_a : int
        Of priority A, those that were told to a crew and can no longer be planned included.
    """

    served: int
    left_out: int
    refused: int
    on_time: int
    served_a: int
    wanted_a: int
    driving_s: int
    overtime_s: int
    promises: int
    cost_s: int


@dataclass(frozen=True)
class PlanReading:
    """A plan with its stops in their order, what it leaves out, and its problem."""

    plan: Plan
    stops: tuple[PlanStop, ...]
    outside: tuple[PlanLeftOut, ...]
    problem: Problem
    horizon: Horizon

    @cached_property
    def crew_days(self) -> tuple[tuple[CrewDay, tuple[PlanStop, ...]], ...]:
        """Return the crew-days of the problem, those that stay in the yard too, by day."""
        by_ref: dict[str, list[PlanStop]] = {}
        for stop in self.stops:
            by_ref.setdefault(crew_day_ref(stop.crew.code, stop.on), []).append(stop)
        days = sorted(self.problem.crew_days, key=lambda each: (each.day, each.crew))
        return tuple((day, tuple(by_ref.get(day.ref, ()))) for day in days)

    def strip(self, day: CrewDay, stops: Sequence[PlanStop]) -> tuple[Piece, ...]:
        """Return what the crew does on that day, piece by piece."""
        if not stops:
            return ()
        seconds, numbers = self.horizon.seconds, stops[0].numbers
        lunch = None
        if numbers.get("lunch_at") and day.lunch is not None:
            lunch = (self._second_of(numbers["lunch_at"]), day.lunch.length_s)
        laid = tuple(
            LaidStop(
                self.problem.repair[stop.name].place,
                seconds(stop.arrives_at),
                seconds(stop.starts_at),
                seconds(stop.ends_at),
                stop.numbers["setup_s"],
                stop.numbers["finish_s"],
            )
            for stop in stops
        )
        back_s = self._second_of(numbers["day_back_at"])
        whole = LaidDay(day.starts_s, back_s, day.start_place, day.end_place, laid, lunch)
        return pieces(whole, lambda a, b: self.problem.travel.seconds[a][b])

    def figures(self) -> PlanFigures:
        """Return what it is compared by."""
        told = self.plan.figures
        late = sum(
            late_days(self.problem.repair[s.name], self.horizon.day(s.on)) > 0 for s in self.stops
        )
        names = [*(s.name for s in self.stops), *(o.name for o in self.outside if not o.refused)]
        urgent = {name for name in names if self.problem.repair[name].priority is Priority.A}
        fell_out = [
            each.name
            for each in self.outside
            if each.refused
            and str(each.repair_id) in self.plan.told
            and each.repair.priority == Priority.A.value
        ]
        return PlanFigures(
            served=len(self.stops),
            left_out=sum(not each.refused for each in self.outside),
            refused=sum(each.refused for each in self.outside),
            on_time=len(self.stops) - late,
            served_a=sum(stop.name in urgent for stop in self.stops),
            wanted_a=len(urgent) + len(fell_out),
            driving_s=int(told.get("travel_s", 0)),
            overtime_s=int(told.get("overtime_s", 0)),
            promises=sum(each["kind"] in BROKEN_KINDS for each in self.plan.differences),
            cost_s=int(told.get("total_s", 0)),
        )

    def _second_of(self, at: str) -> int:
        return self.horizon.seconds(datetime.fromisoformat(at))


def read_plan(plan: Plan) -> PlanReading:
    """Return a stored plan to be looked at."""
    stops = plan.stops.select_related(
        "crew__yard", "beside", "repair__run__site", "repair__datum", "repair__work_order__customer"
    ).order_by("on", "crew__code", "number")
    outside = plan.left_out.select_related("repair__run__site", "repair__datum")
    return PlanReading(
        plan=plan,
        stops=tuple(stops),
        outside=tuple(outside),
        problem=unpack(bytes(plan.problem)),
        horizon=Horizon(plan.starts_on, plan.days, plan.origin, plan.zone),
    )
