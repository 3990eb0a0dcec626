"""A route as a crew reads it: each stop's arrival, wait, start, end and slack."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from dispatch.domain.plan.driven import Driven, LunchTaken
from dispatch.domain.plan.problem import CrewDay, PlannedRepair
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.slack_beside import slacks_beside
from dispatch.domain.plan.travel import ESTIMATED, ROAD, Travel


@dataclass(frozen=True, slots=True)
class Stop:
    """One repair on a route, in seconds from the origin.

    `slack_s` is how much later the crew may arrive with everything after it still in its
    windows, and back before the most overtime is used. Lunch is left where it is planned.

    `beside` names the repair in whose cure this one is set up: the crew goes back to that one,
    finishes it, and then waits for this one. The two overlap in time; one crew does both.
    """

    repair: str
    arrival_s: int
    wait_s: int
    start_s: int
    end_s: int
    slack_s: int
    beside: str | None = None


@dataclass(frozen=True, slots=True)
class Timeline:
    """A crew-day from leaving to being back."""

    crew_day: str
    stops: tuple[Stop, ...]
    back_s: int
    travel_s: int
    overtime_s: int
    lunch: LunchTaken | None
    travel_source: str


def simulate(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> Timeline | Refusal:
    """Return the timeline of a route, or why it cannot be done."""
    driven = drive(travel, day, stops)
    if isinstance(driven, Refusal):
        return driven
    of_slack = slacks_beside if driven.beside else _slacks
    slack = of_slack(travel, day, stops, driven)
    return Timeline(
        day.ref,
        tuple(
            Stop(
                stop.ref,
                driven.arrivals_s[at],
                driven.starts_s[at] - driven.arrivals_s[at],
                driven.starts_s[at],
                driven.ends_s[at],
                slack[at],
                stops[at - 1].ref if at in driven.beside else None,
            )
            for at, stop in enumerate(stops)
        ),
        driven.back_s,
        driven.travel_s,
        driven.overtime_s,
        driven.lunch,
        _known(travel, day, stops),
    )


def _slacks(
    travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair], driven: Driven
) -> list[int]:
    """Return each stop's slack, reckoned from the end of the day backwards."""
    at = driven.lunch.starts_s if driven.lunch and driven.lunch.where == "break" else None
    must_be_there, place, next_arrival_s = day.last_back_s, day.end_place, driven.back_s
    found = []
    for index in range(len(stops) - 1, -1, -1):
        stop, arrival, start = stops[index], driven.arrivals_s[index], driven.starts_s[index]
        must_leave = must_be_there - travel.seconds[stop.place][place]
        if at is not None and start + stop.on_site_s <= at < next_arrival_s:
            must_leave = _with_lunch(day, must_leave)
        # The plan's own start is among these, so there is always one.
        must_be_there = max(
            min(window.closes_s, must_leave) - stop.on_site_s
            for window in stop.windows
            if window.opens_s + stop.on_site_s <= min(window.closes_s, must_leave)
        )
        if at is not None and arrival <= at < start:
            must_be_there = _with_lunch(day, must_be_there)
        place, next_arrival_s = stop.place, arrival
        found.append(must_be_there - arrival)
    return found[::-1]


def _with_lunch(day: CrewDay, must_be_done_s: int) -> int:
    """Return by when one must be ready for lunch to be through with it in time."""
    if day.lunch is None:
        return must_be_done_s
    return min(must_be_done_s - day.lunch.length_s, day.lunch.latest_s)


def _known(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> str:
    """Return 'road' when every way of this route is known by road."""
    places = [day.start_place, *(stop.place for stop in stops), day.end_place]
    ways = [(a, b) for a, b in pairwise(places) if a != b]
    return ROAD if ways and all(travel.source[a][b] == ROAD for a, b in ways) else ESTIMATED
