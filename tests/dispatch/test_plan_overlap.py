"""Setting up the next repair while one cures: minutes worked by hand, and what must always hold.

Common practice, no source; that a cure is never shorter than its bound is the maker's chart.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchmarks.planning_cases import Case, make
from dispatch.domain.plan.beside import drive_beside
from dispatch.domain.plan.driven import Driven
from dispatch.domain.plan.greedy import greedy
from dispatch.domain.plan.problem import (
    CrewDay,
    Lunch,
    Overlap,
    PackerRange,
    PlannedRepair,
    Window,
)
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.timeline import Timeline, simulate
from dispatch.domain.plan.under_way import UnderWay, from_now
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine
from tests.dispatch.plan_example import (
    DAY,
    HOUR,
    MIN,
    checked,
    crew_day,
    problem,
    repair,
    road,
    some_crew_days,
    some_repairs,
)
from tests.dispatch.plan_oracle import cheapest_total_s

SEVEN = 7 * HOUR
TWO = (PackerRange(150, 300, 1.5), PackerRange(100, 250, 1.5))
ALLOWED = Overlap(most_drive_s=20 * MIN, most_wait_s=30 * MIN)


def crew(**changes: object) -> CrewDay:
    """Return a crew that may overlap, with two packers that serve."""
    return replace(crew_day(packers=TWO, overlap=ALLOWED), **changes)  # type: ignore[arg-type]


def timeline(day: CrewDay, *stops: PlannedRepair) -> Timeline:
    """Return the route's timeline; it must be possible."""
    found = simulate(road(), day, stops)
    assert isinstance(found, Timeline), found
    return found


def test_two_repairs_on_one_site_by_hand() -> None:
    """Set up until 7:40 and 8:10; the first is cured at 8:50, the second, done by then, at 9:20."""
    found = timeline(crew(), repair("outer"), repair("inner"))

    outer, inner = found.stops
    assert (outer.beside, inner.beside) == (None, "outer")
    assert (outer.start_s, outer.end_s) == (SEVEN + 10 * MIN, 9 * HOUR + 10 * MIN)
    assert (inner.arrival_s, inner.start_s) == (SEVEN + 40 * MIN, SEVEN + 40 * MIN)
    assert inner.end_s == 9 * HOUR + 40 * MIN
    assert found.back_s == 9 * HOUR + 50 * MIN  # one by one it is twenty past eleven


def test_a_place_ten_minutes_off_is_driven_to_three_times() -> None:
    """7:50 there, 8:30 back, 8:50 the first is cured, 9:20 there again, 9:30 the second is."""
    driven = drive_beside(road(), crew(), [repair("outer"), repair("inner", 2)], frozenset({1}))

    assert driven is not None
    assert driven.starts_s == (SEVEN + 10 * MIN, SEVEN + 50 * MIN)
    assert driven.ends_s == (9 * HOUR + 10 * MIN, 9 * HOUR + 50 * MIN)
    assert (driven.travel_s, driven.back_s) == (60 * MIN, 10 * HOUR + 10 * MIN)


def test_driving_more_is_only_done_for_what_is_worth_it() -> None:
    """Twenty minutes more on the road save nothing on a quiet day, and the day on a full one."""
    stops = [repair("outer"), repair("inner", 2)]

    assert [each.beside for each in timeline(crew(), *stops).stops] == [None, None]
    short = crew(ends_s=10 * HOUR, overtime_s=15 * MIN)
    assert [each.beside for each in timeline(short, *stops).stops] == [None, "outer"]


def test_down_a_run_each_is_set_up_beside_the_one_before() -> None:
    """Three in a row: the third begins when the first is finished, at ten past nine."""
    one, two, three = timeline(crew(), *(repair(f"{n}") for n in range(3))).stops

    assert (one.beside, two.beside, three.beside) == (None, "0", "1")
    assert three.start_s == one.end_s == 9 * HOUR + 10 * MIN
    assert three.end_s == 11 * HOUR + 10 * MIN


@pytest.mark.parametrize(
    "changes",
    [
        {"overlap": None},
        {"overlap": replace(ALLOWED, people_enough=False)},
        {"overlap": replace(ALLOWED, loggers=1)},
        {"packers": TWO[:1]},
        {"packers": (TWO[0], PackerRange(300, 600))},
        {"packers": (TWO[0], replace(TWO[1], limit_kpa=50.0))},
    ],
)
def test_where_it_is_not_allowed_one_comes_after_the_other(changes: dict[str, object]) -> None:
    """No word for it, too few people, one logger, or no second packer that serves."""
    stops = [repair("one", pressure_kpa=80.0), repair("two", pressure_kpa=80.0)]

    assert timeline(crew(**changes), *stops).stops[1].beside is None


def test_a_packer_that_is_still_live_is_not_the_second_one() -> None:
    """Three in a row: only one packer is wide enough for the second and the third."""
    wide = {"diameter_mm": 280.0}
    stops = [repair("narrow"), repair("wide", **wide), repair("wide too", **wide)]

    assert [each.beside for each in timeline(crew(), *stops).stops] == [None, "narrow", None]


@pytest.mark.parametrize(("most_wait", "beside"), [(20, "outer"), (19, None)])
def test_no_sleeve_is_held_longer_than_is_allowed(most_wait: int, beside: str | None) -> None:
    """The second takes 90 min to set up: the first, cured after 70, waits for 20."""
    word = replace(ALLOWED, most_wait_s=most_wait * MIN)

    found = timeline(crew(overlap=word), repair("outer"), repair("in", setup_s=90 * MIN))
    assert found.stops[1].beside == beside


@pytest.mark.parametrize(("most_drive", "beside"), [(20, "outer"), (19, None)])
def test_whoever_stays_is_never_further_away_than_is_allowed(
    most_drive: int, beside: str | None
) -> None:
    """Twenty minutes from place 1 to place 3."""
    day = crew(
        overlap=replace(ALLOWED, most_drive_s=most_drive * MIN),
        ends_s=11 * HOUR,
        overtime_s=HOUR,
    )

    assert timeline(day, repair("outer"), repair("in", 3)).stops[1].beside == beside


def test_a_set_up_waits_so_that_the_sleeve_before_is_not_held_too_long() -> None:
    """The second opens at ten: the first begins at half past nine minus what it may be held."""
    late = repair("inner", windows=(Window(10 * HOUR, 13 * HOUR),))
    driven = drive_beside(road(), crew(), [repair("outer"), late], frozenset({1}))

    assert driven is not None
    assert driven.starts_s == (8 * HOUR + 20 * MIN, 10 * HOUR)  # live from 8:50, held until 10:30
    assert driven.ends_s[0] == 10 * HOUR + 50 * MIN


def test_lunch_beside_two_live_packers_is_a_lunch_beside_a_live_packer() -> None:
    """It is half past eight and both cure until ten to nine: there are twenty minutes."""
    early = Lunch(8 * HOUR, 9 * HOUR, 10 * MIN)
    stops = [repair("outer"), repair("inner")]

    found = timeline(crew(lunch=early), *stops)
    assert found.lunch is not None
    assert (found.lunch.where, found.lunch.starts_s) == ("cure", 8 * HOUR + 10 * MIN)
    strict = timeline(crew(lunch=replace(early, in_cure=False)), *stops)
    assert strict.lunch is not None
    assert strict.lunch.where == "break"


def test_a_crew_with_two_live_packers_goes_on_when_both_are_finished() -> None:
    """From the site it is done with last, with two kits less."""
    of = problem([crew()], [repair("outer", 3), repair("inner", 4), repair("next", 5)])
    both = [UnderWay("north/0", "inner", 10 * HOUR), UnderWay("north/0", "outer", 9 * HOUR)]

    (left,) = from_now(of, both, 8 * HOUR).crew_days
    assert (left.starts_s, left.start_place, left.kits) == (10 * HOUR, 4, {"KIT": 4})


@pytest.mark.parametrize("wrong", [{"most_drive_s": -1}, {"most_wait_s": -1}, {"loggers": -1}])
def test_an_overlap_below_nothing_is_refused(wrong: dict[str, int]) -> None:
    """There is no such contract."""
    with pytest.raises(ValueError, match="may not be below 0"):
        replace(ALLOWED, **wrong)  # type: ignore[arg-type]


routes = st.lists(
    st.tuples(st.integers(1, 4), st.integers(6, 10), st.integers(3, 8), st.integers(3, 12)),
    min_size=2,
    max_size=4,
).map(
    lambda rows: [
        repair(
            f"R{n}",
            place,
            windows=(Window(opens * HOUR, (opens + hours) * HOUR),),
            cure_s=cure * 10 * MIN,
            cure_bound_s=cure * 10 * MIN,
        )
        for n, (place, opens, hours, cure) in enumerate(rows)
    ]
)
"""Two to four repairs close by, each with a window; all times are tens of minutes."""

words = st.builds(
    Overlap,
    st.integers(0, 6).map(lambda n: n * 10 * MIN),
    st.integers(0, 9).map(lambda n: n * 10 * MIN),
)
lunches = st.sampled_from(
    [None, *(Lunch(11 * HOUR, 13 * HOUR, 30 * MIN, in_cure=each) for each in (True, False))]
)
LONG = crew(ends_s=18 * HOUR, kits={"KIT": 9})


def visits(driven: Driven, stops: list[PlannedRepair]) -> list[tuple[int, int, int]]:
    """Return begin, end and place of all work at the sites, in the order of time."""
    spans = [
        span
        for stop, start, end in zip(stops, driven.starts_s, driven.ends_s, strict=True)
        for span in (
            (start, start + stop.setup_s, stop.place),
            (end - stop.finish_s, end, stop.place),
        )
    ]
    return sorted(spans)


@given(routes, words, lunches)
def test_every_rule_holds_of_every_route(
    stops: list[PlannedRepair], word: Overlap, lunch: Lunch | None
) -> None:
    """Told once more here, without the code that plans: chart, hold, windows, one crew."""
    day = replace(LONG, overlap=word, lunch=lunch)
    driven = drive(road(), day, stops)
    assume(isinstance(driven, Driven))
    assert isinstance(driven, Driven)

    for at, stop in enumerate(stops):
        start, end = driven.starts_s[at], driven.ends_s[at]
        cured = start + stop.setup_s + stop.cure_bound_s
        assert cured <= end - stop.finish_s <= cured + word.most_wait_s
        assert any(w.opens_s <= start and end <= w.closes_s for w in stop.windows)
        overlaps = at > 0 and start < driven.ends_s[at - 1]
        assert overlaps == (at in driven.beside)
        if overlaps:
            assert abs(stop.place - stops[at - 1].place) * 10 * MIN <= word.most_drive_s
        if at > 1:  # never three live
            assert start >= driven.ends_s[at - 2]
    now, place = day.starts_s, day.start_place
    for begins, ends, where in visits(driven, stops):
        assert begins >= now + abs(where - place) * 10 * MIN
        now, place = ends, where
    assert driven.back_s == now + place * 10 * MIN or driven.lunch is not None


@given(routes, words, lunches)
def test_an_overlap_that_is_allowed_never_costs(
    stops: list[PlannedRepair], word: Overlap, lunch: Lunch | None
) -> None:
    """What can be done without it can be done with it, for no more driving and overtime."""
    day = replace(LONG, ends_s=13 * HOUR, overtime_s=4 * HOUR, lunch=lunch)
    without = drive(road(), replace(day, overlap=None), stops)
    allowed = drive(road(), replace(day, overlap=word), stops)

    if isinstance(without, Driven):
        assert isinstance(allowed, Driven)
        assert allowed.overtime_s <= without.overtime_s
        assert (
            allowed.travel_s + 2 * allowed.overtime_s <= without.travel_s + 2 * without.overtime_s
        )


@given(routes, words)
def test_no_pair_could_be_done_earlier(stops: list[PlannedRepair], word: Overlap) -> None:
    """Every start of both on a grid of ten minutes, on which all ways, works and windows lie."""
    day = replace(LONG, overlap=word)
    pair = stops[:2]
    found = drive_beside(road(), day, pair, frozenset({1}))
    if abs(pair[0].place - pair[1].place) * 10 * MIN <= word.most_drive_s:
        best = min(ends_of_a_pair(pair, word, day.last_back_s), default=None)
        assert (None if found is None else found.ends_s[1]) == best


def ends_of_a_pair(pair: list[PlannedRepair], word: Overlap, until_s: int) -> Iterator[int]:
    """Yield when the second of two would end, for all starts that keep the rules."""
    outer, inner = pair
    way = abs(outer.place - inner.place) * 10 * MIN
    grid = range(SEVEN, until_s, 10 * MIN)
    for first, second in product(grid, grid):
        live = (first + outer.setup_s, second + inner.setup_s)
        if first < SEVEN + outer.place * 10 * MIN or second < live[0] + way:
            continue
        outer_done = max(live[0] + outer.cure_bound_s, live[1] + way)
        outer_ends = outer_done + outer.finish_s
        inner_done = max(live[1] + inner.cure_bound_s, outer_ends + way)
        inner_ends = inner_done + inner.finish_s
        if (
            outer_done - live[0] - outer.cure_bound_s <= word.most_wait_s
            and inner_done - live[1] - inner.cure_bound_s <= word.most_wait_s
            and outer.windows[0].opens_s <= first
            and outer_ends <= outer.windows[0].closes_s
            and inner.windows[0].opens_s <= second
            and inner_ends <= inner.windows[0].closes_s
            and inner_ends + inner.place * 10 * MIN <= until_s
        ):
            yield inner_ends


@given(routes, words, st.integers(0, 3 * HOUR))
def test_who_leaves_later_never_drives_and_works_over_less(
    stops: list[PlannedRepair], word: Overlap, later_s: int
) -> None:
    """And what could not be done before cannot be done later."""
    day = replace(LONG, overlap=word, ends_s=14 * HOUR, overtime_s=6 * HOUR)
    early = drive(road(), day, stops)
    late = drive(road(), replace(day, starts_s=day.starts_s + later_s), stops)

    if isinstance(early, Refusal):
        assert isinstance(late, Refusal)
    elif not isinstance(late, Refusal):
        assert late.travel_s + late.overtime_s >= early.travel_s + early.overtime_s


@given(routes, words, lunches)
def test_slack_is_exact_for_the_first_stop(
    stops: list[PlannedRepair], word: Overlap, lunch: Lunch | None
) -> None:
    """Arriving later by it, the very same order still keeps every rule; by a second more, not."""
    day = replace(LONG, overlap=word, lunch=lunch)
    found = simulate(road(), day, stops)
    if not isinstance(found, Timeline):
        return
    assert all(each.slack_s >= 0 for each in found.stops)

    if lunch is None:
        order = frozenset(at for at, each in enumerate(found.stops) if each.beside)
        by = found.stops[0].slack_s
        assert later(day, stops, order, by) is not None
        assert later(day, stops, order, by + 1) is None


def later(
    day: CrewDay, stops: list[PlannedRepair], order: frozenset[int], by_s: int
) -> Driven | None:
    """Return the clock in that order when the crew leaves so much later."""
    return drive_beside(road(), replace(day, starts_s=day.starts_s + by_s), stops, order)


@given(some_crew_days, some_repairs, words)
def test_the_best_plan_of_a_tiny_case_is_never_dearer_with_overlap(
    crew_days: list[CrewDay], repairs: list[PlannedRepair], word: Overlap
) -> None:
    """By trying every order on every crew-day."""
    allowed = [replace(day, packers=TWO, overlap=word) for day in crew_days[:2]]
    without = [replace(day, overlap=None) for day in allowed]
    few = repairs[:4]

    assert cheapest_total_s(problem(allowed, few)) <= cheapest_total_s(problem(without, few))


@given(some_crew_days, some_repairs, words, st.booleans())
def test_with_overlap_too_the_plan_holds_and_is_not_worse_than_the_rule(
    crew_days: list[CrewDay], repairs: list[PlannedRepair], word: Overlap, lunch: bool
) -> None:
    """Whatever the search makes of it, and with stock over several days."""
    allowed = [
        replace(
            day,
            packers=TWO,
            overlap=word,
            lunch=Lunch(day.day * DAY + 11 * HOUR, day.day * DAY + 12 * HOUR, HOUR, in_cure=False)
            if lunch
            else None,
        )
        for day in crew_days
    ]
    of = problem(allowed, repairs, stock={("north", "KIT"): 3})

    planned = PlanEngine().solve(of, Budget(iterations=200), 1)

    assert checked(planned.problem, planned.best.plan) == planned.best
    rule = checked(planned.problem, greedy(planned.problem))
    assert planned.best.cost.rank <= rule.cost.rank


@pytest.mark.parametrize("seed", range(500, 506))
def test_a_tiny_case_with_overlap_is_planned_as_well_as_by_trying_everything(seed: int) -> None:
    """The oracle drives every order on every crew-day by the same clock."""
    of = make(Case(3, 7, 1, 1, overlap=ALLOWED), seed)
    planned = PlanEngine().solve(of, Budget(iterations=3000), seed)

    assert planned.best.cost.total_s == cheapest_total_s(planned.problem)


def test_a_full_day_serves_more_when_cures_may_overlap() -> None:
    """Four crews for forty repairs; the very same steps of search with and without the word."""
    of = make(Case(4, 40, 1, 1, half_degrees=0.05, overlap=ALLOWED), 7)
    without = replace(of, crew_days=tuple(replace(day, overlap=None) for day in of.crew_days))

    more, less = (
        PlanEngine().solve(each, Budget(iterations=1500), 1).best for each in (of, without)
    )
    assert more.cost.left_out_a <= less.cost.left_out_a
    assert len(more.left_out) < len(less.left_out)
    assert any(stop.beside for timeline in more.timelines for stop in timeline.stops)
    again = PlanEngine().solve(of, Budget(iterations=1500), 1).best
    assert again == more
