"""The clock of a crew that sets up the next repair while the one before cures.

Each repair is two visits, set-up and finish. A repair set up beside the one before it makes
the order: set-up, next set-up, finish, next finish; and so on down the route, so that never
more than two packers are live. The cures are reckoned at their bounds, as everywhere, and a
finish is never before its bound: only later, and by no more than the contract allows.

All times are the earliest that keep every rule at once. They are found by raising whatever
is too early until nothing is; no time that is raised could have stayed.
"""

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from dispatch.domain.plan.driven import LUNCH, Driven, LunchTaken, Visit
from dispatch.domain.plan.fit import serves
from dispatch.domain.plan.problem import CrewDay, Lunch, PlannedRepair
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.travel import Travel


def may_be_beside(travel: Travel, day: CrewDay, outer: PlannedRepair, inner: PlannedRepair) -> bool:
    """Return whether a crew may set up `inner` while `outer` cures, and has the time to.

    Asks the contract's word, the way between the two, and whether both sleeves would be
    finished before they are held too long.
    """
    word = day.overlap
    if word is None or not word.is_allowed:
        return False
    there = travel.seconds[outer.place][inner.place]
    back = travel.seconds[inner.place][outer.place]
    if max(there, back) > word.most_drive_s:
        return False
    if there + inner.setup_s + back > outer.cure_bound_s + word.most_wait_s:
        return False
    return back + outer.finish_s <= inner.cure_bound_s + word.most_wait_s


def packers_are_enough(
    day: CrewDay, stops: Sequence[PlannedRepair], beside: Collection[int]
) -> bool:
    """Return whether no repair needs the packer that is still in the one it is set up beside."""
    if len(day.packers) > 1 and all(each == day.packers[0] for each in day.packers):
        return True  # it does not matter which
    free: set[int] = set()
    for at, stop in enumerate(stops):
        able = {n for n, packer in enumerate(day.packers) if serves(packer, stop)}
        if at in beside:  # whichever the one before has, it is another
            able = {n for n in able if free - {n}}
            if not able:
                return False
        free = able
    return True


def with_overlap(
    travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair], plain: Driven | Refusal
) -> Driven | Refusal:
    """Return the route with those set-ups beside a cure that pay, or as it was.

    An overlap pays when it makes the route possible, when it saves more overtime than it costs
    in driving, or when it costs nothing and the crew is back earlier. So it never costs more
    than without, as long as a second of overtime is no cheaper than one of driving.
    """
    pairs = [
        at for at in range(1, len(stops)) if may_be_beside(travel, day, stops[at - 1], stops[at])
    ]
    best = plain if isinstance(plain, Driven) else None
    if best is not None and not best.overtime_s:  # only what needs no driving can still pay
        pairs = [at for at in pairs if not _to_and_fro_s(travel, stops[at - 1], stops[at])]
    if not pairs or _hopeless(travel, day, stops):
        return plain
    for beside in _some(pairs):
        tried = drive_beside(travel, day, stops, beside)
        if tried is not None and (best is None or _key(tried) < _key(best)):
            best = tried
    return plain if best is None else best


class Course(NamedTuple):
    """A crew-day with its stops and the order of their visits."""

    travel: Travel
    day: CrewDay
    stops: Sequence[PlannedRepair]
    visits: Sequence[Visit]

    def way_s(self, start: int, end: int) -> int:
        """Return how long it is from place to place."""
        return self.travel.seconds[start][end]


def drive_beside(
    travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair], beside: frozenset[int]
) -> Driven | None:
    """Return the clock with exactly these stops set up beside the one before, if it can be."""
    if not packers_are_enough(day, stops, beside):
        return None
    course = Course(travel, day, stops, _visits(stops, beside))
    times = earliest(course)
    if times is None:
        return None
    driven = _driven(course, times)._replace(beside=beside)
    if (taken := _in_a_gap(course, times)) is not None:
        return driven._replace(lunch=taken)
    if day.lunch is None or driven.back_s <= day.lunch.latest_s:
        return driven
    return _with_break(course, day.lunch, beside)


def _visits(stops: Sequence[PlannedRepair], beside: Collection[int]) -> list[Visit]:
    """Return the visits in their order: each finish before the next set-up, or after it."""
    ups = [
        Visit(at, sets_up=True, place=each.place, length_s=each.setup_s)
        for at, each in enumerate(stops)
    ]
    downs = [
        Visit(at, sets_up=False, place=each.place, length_s=each.finish_s)
        for at, each in enumerate(stops)
    ]
    order = ups[:1]
    for at in range(1, len(stops)):
        order += [ups[at], downs[at - 1]] if at in beside else [downs[at - 1], ups[at]]
    return order + downs[-1:]


def earliest(course: Course, not_before: Sequence[int] | None = None) -> list[int] | None:
    """Return when each visit begins at the earliest, or None when no times keep all rules.

    Parameters
    ----------
    not_before : sequence of int or None
        For each visit a time it may not begin before.
    """
    _, day, stops, visits = course
    hold_s = day.overlap.most_wait_s if day.overlap is not None else 0
    times = list(not_before or [day.starts_s] * len(visits))
    up, down = [0] * (len(stops) + 1), [0] * (len(stops) + 1)  # a meal is its own, at the end
    for at, each in enumerate(visits):
        (up if each.sets_up else down)[each.stop] = at
    rounds = 2 + len(visits) + sum([len(each.windows) for each in stops])
    for _ in range(rounds):
        before = list(times)
        if not _once_through(course, times, up, down):
            return None
        for at, stop in enumerate(stops):  # a sleeve held too long must be set up later
            latest_up = times[down[at]] - stop.setup_s - stop.cure_bound_s - hold_s
            times[up[at]] = max(times[up[at]], latest_up)
        if times == before:
            return times
    return None


def _once_through(course: Course, times: list[int], up: Sequence[int], down: Sequence[int]) -> bool:
    """Raise each visit to what the ones before it, its window and its cure ask for."""
    travel, day, stops, visits = course
    ways, now, place = travel.seconds, day.starts_s, day.start_place
    for at, (number, sets_up, where, length_s) in enumerate(visits):
        ready = now + ways[place][where]
        ready = max(ready, times[at])
        begins: int | None
        if number == LUNCH:
            begins = _lunch_from(day.lunch, ready)
        elif sets_up:
            stop = stops[number]
            begins = _opening(stop, ready, times[down[number]] + stop.finish_s)
        else:
            stop = stops[number]
            begins = max(ready, times[up[number]] + stop.setup_s + stop.cure_bound_s)
        if begins is None:
            return False
        times[at] = begins
        now, place = begins + length_s, where
    return now + ways[place][day.end_place] <= day.last_back_s


def _lunch_from(lunch: Lunch | None, ready_s: int) -> int | None:
    if lunch is None or ready_s > lunch.latest_s:
        return None
    return max(ready_s, lunch.earliest_s)


def _opening(stop: PlannedRepair, ready_s: int, ends_s: int) -> int | None:
    """Return when a stop may begin so that it also ends inside the window, at `ends_s` or later."""
    on_site_s = stop.setup_s + stop.cure_bound_s + stop.finish_s
    for window in stop.windows:
        start = max(window.opens_s, ready_s)
        if start + on_site_s <= window.closes_s and ends_s <= window.closes_s:
            return start
    return None


def _driven(course: Course, times: Sequence[int]) -> Driven:
    _, day, stops, visits = course
    arrivals, starts, ends = [0] * len(stops), [0] * len(stops), [0] * len(stops)
    now, place, driven = day.starts_s, day.start_place, 0
    for visit, begins in zip(visits, times, strict=True):
        way = course.way_s(place, visit.place)
        driven += way
        if visit.sets_up:
            arrivals[visit.stop], starts[visit.stop] = now + way, begins
        elif visit.stop != LUNCH:
            ends[visit.stop] = begins + visit.length_s
        now, place = begins + visit.length_s, visit.place
    home = course.way_s(place, day.end_place)
    back = now + home
    overtime = max(0, back - day.ends_s)
    clock = (tuple(arrivals), tuple(starts), tuple(ends))
    return Driven(*clock, back, driven + home, overtime, None, visits=tuple(visits))


def _in_a_gap(course: Course, times: Sequence[int]) -> LunchTaken | None:
    """Return lunch where the crew waits anyway; beside a live packer only where that is allowed."""
    _, day, stops, visits = course
    lunch, live = day.lunch, 0
    if lunch is None:
        return None
    now, place = day.starts_s, day.start_place
    for visit, begins in zip(visits, times, strict=True):
        arrives, ends = now + course.way_s(place, visit.place), begins
        stop = stops[visit.stop]
        if not visit.sets_up:  # the cure may end early: only what is sure counts
            ends -= max(0, stop.cure_bound_s - stop.cure_s)
        at = max(arrives, lunch.earliest_s)
        if at <= lunch.latest_s and at + lunch.length_s <= ends and (lunch.in_cure or not live):
            return LunchTaken(at, "cure" if live else "wait")
        live += 1 if visit.sets_up else -1
        now, place = begins + visit.length_s, visit.place
    if day.starts_s > lunch.latest_s:
        return LunchTaken(day.starts_s, "before the shift")
    return None


def _with_break(course: Course, lunch: Lunch, beside: frozenset[int]) -> Driven | None:
    """Return the route with a break where nothing is live and it costs the least."""
    best: Driven | None = None
    live, place = 0, course.day.start_place
    for at in range(len(course.visits) + 1):
        if not live:
            eats = Visit(LUNCH, sets_up=False, place=place, length_s=lunch.length_s)
            longer = course._replace(visits=[*course.visits[:at], eats, *course.visits[at:]])
            times = earliest(longer)
            if times is not None:
                tried = _driven(longer, times)
                if best is None or tried.back_s < best.back_s:
                    best = tried._replace(beside=beside, lunch=LunchTaken(times[at], "break"))
        if at < len(course.visits):
            live += 1 if course.visits[at].sets_up else -1
            place = course.visits[at].place
    return best


def _some(pairs: Sequence[int]) -> Iterator[frozenset[int]]:
    for size in range(1, len(pairs) + 1):
        yield from (frozenset(each) for each in combinations(pairs, size))


def _key(driven: Driven) -> tuple[int, int]:
    return (driven.travel_s + driven.overtime_s, driven.back_s)


def _to_and_fro_s(travel: Travel, one: PlannedRepair, other: PlannedRepair) -> int:
    return travel.seconds[one.place][other.place] + travel.seconds[other.place][one.place]


def _hopeless(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> bool:
    """Return whether hands and ways alone fill more than the day: no cure to wait for helps."""
    places = [day.start_place, *(each.place for each in stops), day.end_place]
    ways = sum(travel.seconds[a][b] for a, b in pairwise(places))
    hands = sum(each.setup_s + each.finish_s for each in stops)
    return day.starts_s + ways + hands > day.last_back_s
