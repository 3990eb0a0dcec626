"""The clock of a crew-day: minutes worked by hand, and what must hold of every route."""

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dispatch.domain.plan.problem import CrewDay, Lunch, PlannedRepair, Window
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.timeline import Timeline, simulate
from dispatch.domain.plan.travel import ROAD
from tests.dispatch.plan_example import DAY, HOUR, MIN, crew_day, repair, road, some_repairs

SEVEN = 7 * HOUR


def timeline(day: CrewDay, *stops: PlannedRepair) -> Timeline:
    """Return the route's timeline; it must be possible."""
    found = simulate(road(), day, stops)
    assert isinstance(found, Timeline), found
    return found


def refused(day: CrewDay, *stops: PlannedRepair) -> Refusal:
    """Return why the route is not possible."""
    found = simulate(road(), day, stops)
    assert isinstance(found, Refusal), found
    return found


def test_a_morning_by_hand() -> None:
    """Off at seven, there at ten past, two hours of work, ten minutes on, and home again."""
    found = timeline(crew_day(), repair("one", 1), repair("two", 2))

    one, two = found.stops
    assert (one.arrival_s, one.wait_s, one.end_s) == (SEVEN + 10 * MIN, 0, SEVEN + 130 * MIN)
    assert (two.arrival_s, two.end_s) == (SEVEN + 140 * MIN, SEVEN + 260 * MIN)
    assert found.back_s == SEVEN + 280 * MIN
    assert (found.travel_s, found.overtime_s) == (40 * MIN, 0)
    assert found.travel_source == "estimated"


def test_the_longest_cure_is_reckoned_with() -> None:
    """A cold day may need all of the bound: the plan keeps it free."""
    found = timeline(crew_day(), repair("one", cure_bound_s=100 * MIN))

    assert found.stops[0].end_s - found.stops[0].start_s == (30 + 100 + 20) * MIN


def test_a_crew_waits_for_low_flow_and_takes_the_first_window_that_holds_the_job() -> None:
    """One hour from seven is too short for two hours of work; from nine there is room."""
    windows = (Window(SEVEN, 8 * HOUR), Window(9 * HOUR, 12 * HOUR))
    stop = timeline(crew_day(), repair("one", windows=windows)).stops[0]

    assert (stop.start_s, stop.wait_s) == (9 * HOUR, 110 * MIN)
    assert stop.slack_s == 170 * MIN  # may begin until ten, and was there at ten past seven


def test_a_missed_window_says_by_how_much() -> None:
    """There at 7:10, two hours of work, the permit ends at nine: ten minutes short."""
    found = refused(crew_day(), repair("one", windows=(Window(0, 9 * HOUR),)))

    assert (found.code, found.repair, found.short_s) == ("window_missed", "one", 10 * MIN)
    assert "10 min too late" in found.words


@pytest.mark.parametrize(("place", "overtime"), [(3, 0), (6, 60 * MIN)])
def test_overtime_counts_from_the_end_of_the_shift(place: int, overtime: int) -> None:
    """Three repairs take six hours; the road there and back takes the rest."""
    stops = [repair(f"{n}", place) for n in range(3)]

    day = crew_day(ends_s=14 * HOUR)
    assert timeline(day, *stops).overtime_s == overtime


def test_more_than_the_most_overtime_is_refused_with_minutes() -> None:
    """Three repairs at place 7: 70 min there, 360 of work, 70 back is 20 min too long."""
    found = refused(crew_day(ends_s=14 * HOUR), *(repair(f"{n}", 7) for n in range(3)))

    assert (found.code, found.short_s) == ("shift_too_short", 20 * MIN)


def test_the_truck_carries_so_many_kits() -> None:
    """The second repair wants two, the truck had two."""
    found = refused(crew_day(kits={"KIT": 2}), repair("one"), repair("two", kits_needed=2))

    assert (found.code, found.repair) == ("kits_used_up", "two")
    assert "3 of KIT needed by then, 2 carried" in found.words


NOON = Lunch(11 * HOUR, 13 * HOUR, 30 * MIN)


def test_lunch_is_taken_beside_a_curing_sleeve() -> None:
    """It cures from half past ten to half past eleven: at eleven, for half an hour."""
    found = timeline(crew_day(lunch=NOON), repair("one", windows=(Window(10 * HOUR, 16 * HOUR),)))

    assert found.lunch is not None
    assert (found.lunch.where, found.lunch.starts_s) == ("cure", 11 * HOUR)


def test_where_nobody_may_eat_beside_it_lunch_is_a_break() -> None:
    """The contract wants all hands at a live packer: the day gets half an hour longer."""
    strict = replace(NOON, in_cure=False)
    stops = [repair("one"), repair("two"), repair("three")]

    with_break, without = timeline(crew_day(lunch=strict), *stops), timeline(crew_day(), *stops)
    assert with_break.lunch is not None
    assert with_break.lunch.where == "break"
    assert with_break.back_s == without.back_s + 30 * MIN


def test_a_crew_that_is_home_by_then_needs_no_lunch_on_the_road() -> None:
    """One repair from ten past seven: back at twenty past nine."""
    assert timeline(crew_day(lunch=replace(NOON, in_cure=False)), repair("one")).lunch is None


def test_no_place_for_lunch_is_a_reason_with_its_minutes() -> None:
    """Six hours of cure that nobody may leave, on a day that had 10 min of overtime left."""
    long = repair("one", cure_s=6 * HOUR, cure_bound_s=6 * HOUR)
    day = crew_day(ends_s=14 * HOUR, overtime_s=20 * MIN)

    assert timeline(day, long).back_s == 14 * HOUR + 10 * MIN
    found = refused(replace(day, lunch=replace(NOON, earliest_s=9 * HOUR, in_cure=False)), long)
    assert (found.code, found.short_s) == ("no_lunch", 130 * MIN)  # eats from nine


def test_a_way_that_is_known_says_so() -> None:
    """All legs by road, and the word is road."""
    known = replace(road(), source=tuple(tuple(ROAD for _ in row) for row in road().seconds))
    found = simulate(known, crew_day(), [repair("one")])

    assert isinstance(found, Timeline)
    assert found.travel_source == "road"


routes = some_repairs.map(lambda rows: [each for each in rows[:3] if each.windows[0].opens_s < DAY])


@given(routes, st.integers(0, 3 * HOUR))
def test_who_leaves_later_is_never_back_earlier(stops: list[PlannedRepair], later_s: int) -> None:
    """And what could not be done before cannot be done later."""
    day = crew_day(ends_s=22 * HOUR)
    early = drive(road(), day, stops)
    late = drive(road(), replace(day, starts_s=day.starts_s + later_s), stops)

    if isinstance(early, Refusal):
        assert isinstance(late, Refusal)
    elif not isinstance(late, Refusal):
        assert late.back_s >= early.back_s


@given(routes)
def test_a_stop_less_never_makes_a_day_longer(stops: list[PlannedRepair]) -> None:
    """On a road without shortcuts, whatever is left out."""
    day = crew_day(ends_s=22 * HOUR)
    full = drive(road(), day, stops)
    assume(not isinstance(full, Refusal))

    for index in range(len(stops)):
        less = drive(road(), day, stops[:index] + stops[index + 1 :])
        assert not isinstance(less, Refusal)
        assert not isinstance(full, Refusal)
        assert less.back_s <= full.back_s


@given(routes, st.sampled_from([None, NOON, replace(NOON, in_cure=False)]))
def test_slack_is_exact(stops: list[PlannedRepair], lunch: Lunch | None) -> None:
    """A crew that leaves later by the slack of its first stop is in time; by a second more, not."""
    day = crew_day(ends_s=18 * HOUR, lunch=lunch)
    found = simulate(road(), day, stops)
    assume(isinstance(found, Timeline) and found.stops)
    assert isinstance(found, Timeline)

    by = found.stops[0].slack_s
    assert by >= 0
    if found.lunch is None:  # a later lunch may be somewhere else
        later = drive(road(), replace(day, starts_s=day.starts_s + by, lunch=None), stops)
        too_late = drive(road(), replace(day, starts_s=day.starts_s + by + 1, lunch=None), stops)
        assert not isinstance(later, Refusal)
        assert isinstance(too_late, Refusal)
