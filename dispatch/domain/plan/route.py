"""The exact clock of one crew-day: who is driven where, waits how long, is back when.

The crew leaves at the shift's start, not at the latest possible moment: a crew that is paid
is on its way, and an engine that counted overtime from a later departure would not agree.
The first window that still holds the job is taken: to begin later never helps.
"""

from collections.abc import Sequence
from typing import NamedTuple

from dispatch.domain.plan.beside import with_overlap
from dispatch.domain.plan.driven import Driven, LunchTaken
from dispatch.domain.plan.problem import CrewDay, Lunch, PlannedRepair
from dispatch.domain.plan.refusal import Refusal, clock, minutes
from dispatch.domain.plan.travel import Travel


class _Break(NamedTuple):
    """Lunch as a stop of its own: before which stop, and whether before driving there."""

    before: int
    then_drive: bool


def drive(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> Driven | Refusal:
    """Return the clock of a route, or the first reason why it cannot be done.

    Looks at time, windows, lunch, overtime and kits on the truck. Whether crew and repair
    go together is `misfit`'s question.
    """
    if len(stops) > 1 and (refusal := _kits(day, stops)) is not None:
        return refusal
    plain = _one_by_one(travel, day, stops)
    if day.overlap is None or len(stops) == 1:
        return plain
    return with_overlap(travel, day, stops, plain)


def _one_by_one(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> Driven | Refusal:
    """Return the clock of a crew that stays with each repair until it is finished."""
    plain = _walk(travel, day, stops, None)
    if isinstance(plain, Refusal) or day.lunch is None or not stops:
        return plain
    if (taken := _lunch_found(day.lunch, day, stops, plain)) is not None:
        return plain._replace(lunch=taken)
    if plain.back_s <= day.lunch.latest_s:
        return plain  # home before lunch
    return _with_break(travel, day, stops)


def _walk(
    travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair], lunch: _Break | None
) -> Driven | Refusal:
    now, place, driven = day.starts_s, day.start_place, 0
    taken: LunchTaken | None = None
    arrivals, starts = [], []
    for index, stop in enumerate(stops):
        on_the_way = travel.seconds[place][stop.place]
        driven += on_the_way
        if lunch is not None and lunch.before == index and day.lunch is not None:
            begins = max(now if lunch.then_drive else now + on_the_way, day.lunch.earliest_s)
            if begins > day.lunch.latest_s:
                return _no_lunch(day, stops[-1], "it would begin too late", 0)
            taken = LunchTaken(begins, "break")
            ends = begins + day.lunch.length_s
            arrival = now + on_the_way if not lunch.then_drive else ends + on_the_way
            ready = arrival if lunch.then_drive else ends
        else:
            ready = arrival = now + on_the_way
        start = _begin(stop, ready)
        if start is None:
            return _missed(stop, ready)
        arrivals.append(arrival)
        starts.append(start)
        now, place = start + stop.on_site_s, stop.place
    if lunch is not None and lunch.before == len(stops) and day.lunch is not None:
        begins = max(now, day.lunch.earliest_s)
        if begins > day.lunch.latest_s:
            return _no_lunch(day, stops[-1], "it would begin too late", 0)
        taken, now = LunchTaken(begins, "break"), begins + day.lunch.length_s
    home = travel.seconds[place][day.end_place]
    back = now + home if stops else day.starts_s
    if back > day.last_back_s:
        return Refusal(
            "shift_too_short",
            stops[-1].ref,
            f"back {clock(back)}, {minutes(back - day.last_back_s)} after the most overtime",
            back - day.last_back_s,
        )
    overtime = max(0, back - day.ends_s)
    total = driven + home if stops else 0
    done = tuple(start + stop.on_site_s for start, stop in zip(starts, stops, strict=True))
    return Driven(tuple(arrivals), tuple(starts), done, back, total, overtime, taken)


def _begin(stop: PlannedRepair, ready_s: int) -> int | None:
    for window in stop.windows:
        start = max(window.opens_s, ready_s)
        if start + stop.on_site_s <= window.closes_s:
            return start
    return None


def _missed(stop: PlannedRepair, ready_s: int) -> Refusal:
    if not stop.windows:
        return Refusal("window_missed", stop.ref, "there is no window at all")
    last = max(window.closes_s for window in stop.windows)
    short = ready_s + stop.on_site_s - last
    if short <= 0:  # the windows still to come are too short for the job
        longest = max(window.closes_s - window.opens_s for window in stop.windows)
        short = max(1, stop.on_site_s - longest)
    words = f"there {clock(ready_s)}, {minutes(short)} too late for the last window"
    return Refusal("window_missed", stop.ref, words, short)


def _kits(day: CrewDay, stops: Sequence[PlannedRepair]) -> Refusal | None:
    used: dict[str, int] = {}
    for stop in stops:
        if not stop.kits_needed:
            continue
        used[stop.kit_code] = used.get(stop.kit_code, 0) + stop.kits_needed
        carried = day.kits.get(stop.kit_code, 0)
        if used[stop.kit_code] > carried:
            words = f"{used[stop.kit_code]} of {stop.kit_code} needed by then, {carried} carried"
            return Refusal("kits_used_up", stop.ref, words)
    return None


def _lunch_found(
    lunch: Lunch, day: CrewDay, stops: Sequence[PlannedRepair], plain: Driven
) -> LunchTaken | None:
    """Return lunch in a cure or a wait that the route has anyway."""
    for arrival, start, stop in zip(plain.arrivals_s, plain.starts_s, stops, strict=True):
        spans = [("wait", arrival, start)]
        if lunch.in_cure:
            cures = start + stop.setup_s
            # The cure may end early: only what is sure counts.
            spans.append(("cure", cures, cures + min(stop.cure_s, stop.cure_bound_s)))
        for where, begins, ends in spans:
            at = max(begins, lunch.earliest_s)
            if at <= lunch.latest_s and at + lunch.length_s <= ends:
                return LunchTaken(at, where)
    if day.starts_s > lunch.latest_s:
        return LunchTaken(day.starts_s, "before the shift")
    return None


def _with_break(travel: Travel, day: CrewDay, stops: Sequence[PlannedRepair]) -> Driven | Refusal:
    """Return the route with a break where it costs the least, or why there is no place for it."""
    best: Driven | None = None
    nearest: Refusal | None = None
    places = [_Break(i, then_drive) for i in range(len(stops)) for then_drive in (False, True)]
    for place in [*places, _Break(len(stops), then_drive=True)]:
        tried = _walk(travel, day, stops, place)
        if isinstance(tried, Refusal):
            if tried.short_s and (nearest is None or tried.short_s < nearest.short_s):
                nearest = tried
        elif best is None or tried.back_s < best.back_s:
            best = tried
    if best is not None:
        return best
    if nearest is None:
        return _no_lunch(day, stops[-1], "it would begin too late everywhere", 0)
    return _no_lunch(day, stops[-1], f"with it, {nearest.words}", nearest.short_s)


def _no_lunch(day: CrewDay, stop: PlannedRepair, why: str, short_s: int) -> Refusal:
    """Return that the route would do without lunch, and does not with it."""
    return Refusal("no_lunch", stop.ref, f"no place for lunch on {day.ref}: {why}", short_s)
