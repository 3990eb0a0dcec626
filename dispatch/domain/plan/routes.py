"""Routes under construction: what is where, and where one more repair would go in."""

from collections.abc import Iterator
from dataclasses import dataclass

from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.plan import Plan, stop_price_s
from dispatch.domain.plan.problem import CrewDay, PlannedRepair, Problem
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive


@dataclass(frozen=True, slots=True)
class WayIn:
    """A place for a repair: before the stop of that index, in seconds of driving more.

    `instead_of` is a repair of lower priority that would have to leave.
    """

    crew_day: str
    index: int
    more_s: int
    instead_of: str | None = None


class Routes:
    """A plan that may still change; each route in it can be driven."""

    def __init__(self, problem: Problem, plan: Plan | None = None) -> None:
        self.problem = problem
        self.stops: dict[str, list[PlannedRepair]] = {day.ref: [] for day in problem.crew_days}
        self._price: dict[str, int] = {}
        self._used: dict[tuple[str, str], int] = {}
        for ref, repairs in (plan or {}).items():
            self.put(ref, [problem.repair[each] for each in repairs])

    def put(self, ref: str, stops: list[PlannedRepair]) -> None:
        """Give a crew-day another route."""
        crew = self.problem.crew_day[ref].crew
        for sign, those in ((-1, self.stops[ref]), (1, stops)):
            for each in those:
                key = (crew, each.kit_code)
                self._used[key] = self._used.get(key, 0) + sign * each.kits_needed
        self.stops[ref] = stops
        self._price.pop(ref, None)

    def plan(self) -> Plan:
        """Return what stands, without the crew-days that stay in the yard."""
        return {ref: tuple(s.ref for s in stops) for ref, stops in self.stops.items() if stops}

    def left_out(self) -> list[PlannedRepair]:
        """Return the repairs without a place."""
        done = {stop.ref for stops in self.stops.values() for stop in stops}
        return [each for each in self.problem.repairs if each.ref not in done]

    def price_s(self, ref: str) -> int:
        """Return what driving and overtime of a crew-day cost, remembered."""
        if ref not in self._price:
            price = self._driving_s(self.problem.crew_day[ref], self.stops[ref])
            if isinstance(price, Refusal):
                raise ValueError(f"{ref}: {price.words}")
            self._price[ref] = price
        return self._price[ref]

    def used(self, crew: str, kit_code: str) -> int:
        """Return how many kits a crew's days take so far."""
        return self._used.get((crew, kit_code), 0)

    def kits_left(self, day: CrewDay, repair: PlannedRepair) -> bool:
        """Return whether the crew's stock over all its days has the kits for one more."""
        key = (day.crew, repair.kit_code)
        most = self.problem.stock.get(key)
        return most is None or self._used.get(key, 0) + repair.kits_needed <= most

    def best_in(self, day: CrewDay, repair: PlannedRepair) -> WayIn | Refusal:
        """Return the cheapest place on one crew-day, or the reason that comes closest."""
        if (refusal := misfit(day, repair)) is not None:
            return refusal
        if not self.kits_left(day, repair):
            words = f"crew {day.crew} has no {repair.kit_code} left for its other days"
            return Refusal("stock_used_up", repair.ref, words)
        return self.cheapest(day, self.stops[day.ref], repair, self.price_s(day.ref))

    def cheapest(
        self, day: CrewDay, stops: list[PlannedRepair], repair: PlannedRepair, before_s: int
    ) -> WayIn | Refusal:
        """Return the cheapest place between given stops, whose driving costs `before_s`."""
        best: WayIn | None = None
        nearest: Refusal | None = None
        extra = stop_price_s(self.problem, day, repair)
        for index in range(len(stops) + 1):
            price = self._driving_s(day, [*stops[:index], repair, *stops[index:]])
            if isinstance(price, Refusal):
                if nearest is None or price.short_s < nearest.short_s:
                    nearest = price
            elif best is None or price - before_s + extra < best.more_s:
                best = WayIn(day.ref, index, price - before_s + extra)
        if best is not None:
            return best
        return nearest or Refusal("shift_too_short", repair.ref, "there is no room")

    def ways_in(self, repair: PlannedRepair) -> Iterator[WayIn | Refusal]:
        """Yield for each crew-day the cheapest place or the reason."""
        for day in self.problem.crew_days:
            yield self.best_in(day, repair)

    def put_in(self, way: WayIn, repair: PlannedRepair) -> None:
        """Take a way in; whoever has to leave for it is left out."""
        stops = [each for each in self.stops[way.crew_day] if each.ref != way.instead_of]
        self.put(way.crew_day, [*stops[: way.index], repair, *stops[way.index :]])

    def instead(self, day: CrewDay, repair: PlannedRepair) -> Iterator[WayIn]:
        """Yield the places that open up when one stop of lower priority leaves."""
        if misfit(day, repair) is not None:
            return
        for leaves in self.stops[day.ref]:
            if leaves.is_pinned or leaves.priority <= repair.priority:
                continue  # "A" < "B" < "C": never instead of an equal or a higher one
            rest = [each for each in self.stops[day.ref] if each is not leaves]
            found = self.cheapest(day, rest, repair, self.price_s(day.ref))
            spared = stop_price_s(self.problem, day, leaves)
            if isinstance(found, WayIn) and self._kits_after(day, repair, leaves):
                yield WayIn(day.ref, found.index, found.more_s - spared, leaves.ref)

    def _kits_after(self, day: CrewDay, repair: PlannedRepair, leaves: PlannedRepair) -> bool:
        key = (day.crew, repair.kit_code)
        most = self.problem.stock.get(key)
        back = leaves.kits_needed if leaves.kit_code == repair.kit_code else 0
        return most is None or self._used.get(key, 0) - back + repair.kits_needed <= most

    def _driving_s(self, day: CrewDay, stops: list[PlannedRepair]) -> int | Refusal:
        driven = drive(self.problem.travel, day, stops)
        if isinstance(driven, Refusal):
            return driven
        return driven.travel_s + self.problem.weights.overtime_times * driven.overtime_s
