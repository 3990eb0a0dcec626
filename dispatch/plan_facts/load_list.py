"""What goes on the trucks on a morning of a plan: kits by lot, gear, and what is missing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from dispatch.domain.plan.load_out import Load, LotLeft, load_out
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.travel import Travel
from dispatch.domain.plan.weights import Priority
from dispatch.models import Crew, Equipment, Plan, PlanStop
from dispatch.plan_facts.crew_days import crew_day_ref, stock_beside


@dataclass(frozen=True, slots=True)
class TruckList:
    """The list of one truck for one morning; a load without a lot is missing."""

    crew: Crew
    on: date
    repairs: tuple[str, ...]
    loads: tuple[Load, ...]
    packers: tuple[Equipment, ...]
    other: tuple[Equipment, ...]

    @property
    def missing(self) -> tuple[Load, ...]:
        """Return the kits that somebody must order."""
        return tuple(each for each in self.loads if each.lot is None)


def truck_lists(plan: Plan, on: date) -> tuple[TruckList, ...]:
    """Return the list of each crew that goes out on a date, the earliest expiry first.

    Kits that other live assignments need are not counted; those of the plan's days before
    the date are taken off first.
    """
    stops = list(plan.stops.select_related("plan", "crew", "repair__run").order_by("on", "number"))
    crews = {stop.crew_id: stop.crew for stop in stops if stop.on == on}
    own = [UUID(each) for each in plan.told.values()]
    return tuple(
        _truck(on, [stop for stop in stops if stop.crew_id == crew.pk], own)
        for crew in sorted(crews.values(), key=lambda each: each.code)
    )


def _truck(on: date, stops: list[PlanStop], own: list[UUID]) -> TruckList:
    crew, plan = stops[0].crew, stops[0].plan
    routes: dict[str, tuple[str, ...]] = {}
    for stop in stops:
        ref = crew_day_ref(crew.code, stop.on)
        routes[ref] = (*routes.get(ref, ()), stop.name)
    today = [stop for stop in stops if stop.on == on]
    gear = [row for row in crew.equipment.order_by("kind", "serial") if not row.out_of_use]
    packers = [row for row in gear if row.kind == "packer"]
    return TruckList(
        crew=crew,
        on=on,
        repairs=tuple(stop.name for stop in today),
        loads=tuple(
            each
            for each in load_out(_kits_alone(stops), routes, _lots(crew, plan, own))
            if each.crew_day == crew_day_ref(crew.code, on)
        ),
        packers=tuple(row for row in packers if row.test_due_on >= on and _serves(row, today)),
        other=tuple(row for row in gear if row.kind != "packer"),
    )


def _lots(crew: Crew, plan: Plan, own: list[UUID]) -> tuple[LotLeft, ...]:
    # A plan that was published has made assignments: their kits are its own, too.
    ours = plan.stops.filter(crew=crew).values("repair")
    live = crew.assignments.filter(cancelled_at__isnull=True, repair__in=ours)
    moved = {*own, *live.values_list("pk", flat=True)}
    return tuple(
        LotLeft(each.lot, each.kit_code, (each.expires_on - plan.starts_on).days, each.free)
        for each in stock_beside(crew, moved)
        if each.free > 0
    )


def _kits_alone(stops: list[PlanStop]) -> Problem:
    """Return a crew's days with what its stops take off the truck, and nothing else of them."""
    plan, crew = stops[0].plan, stops[0].crew
    days = {stop.on: (stop.on - plan.starts_on).days for stop in stops}
    return Problem(
        origin=plan.origin,
        days=plan.days,
        travel=Travel((), (), ()),
        crew_days=tuple(
            CrewDay(crew_day_ref(crew.code, on), crew.code, day, 0, 0, 0, 0, 0)
            for on, day in days.items()
        ),
        repairs=tuple(
            PlannedRepair(
                stop.name,
                *(0, 0, 0, 0, 0),
                windows=(),
                priority=Priority.B,
                kit_code=stop.numbers["kit"],
                kits_needed=stop.numbers["kits"],
            )
            for stop in stops
        ),
    )


def _serves(packer: Equipment, stops: Iterable[PlanStop]) -> bool:
    low, high = packer.diameter_min_mm or 0.0, packer.diameter_max_mm or 0.0
    return any(low <= stop.repair.run.diameter_mm <= high for stop in stops)
