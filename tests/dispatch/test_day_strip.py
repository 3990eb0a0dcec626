"""The strip of a day says the same as the clock it is drawn from."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.day_strip import Doing, LaidDay, LaidStop, Piece, pieces, tracks
from dispatch.domain.plan.problem import CrewDay, Lunch, Overlap, PackerRange, PlannedRepair
from dispatch.domain.plan.timeline import Timeline, simulate
from dispatch.domain.plan.travel import Travel
from tests.dispatch.plan_example import HOUR, MIN, crew_day, repair, road


def laid(day: CrewDay, stops: list[PlannedRepair], clock: Timeline) -> LaidDay:
    """Return a timeline as it is laid out to be drawn."""
    lunch = None
    if clock.lunch is not None and day.lunch is not None:
        lunch = (clock.lunch.starts_s, day.lunch.length_s)
    return LaidDay(
        day.starts_s,
        clock.back_s,
        day.start_place,
        day.end_place,
        tuple(
            LaidStop(each.place, at.arrival_s, at.start_s, at.end_s, each.setup_s, each.finish_s)
            for each, at in zip(stops, clock.stops, strict=True)
        ),
        lunch,
    )


def of_kind(found: tuple[Piece, ...], doing: Doing) -> int:
    """Return how long something is done."""
    return sum(each.ends_s - each.starts_s for each in found if each.doing is doing)


def drawn(travel: Travel, day: CrewDay, stops: list[PlannedRepair]) -> tuple[Piece, ...]:
    """Return the strip of a route that can be done."""
    clock = simulate(travel, day, stops)
    assert isinstance(clock, Timeline), clock
    return pieces(laid(day, stops, clock), lambda a, b: travel.seconds[a][b])


a_lunch = st.none() | st.builds(
    lambda earliest, long, in_cure: Lunch(
        earliest * HOUR, (earliest + 2) * HOUR, long * MIN, in_cure=in_cure
    ),
    st.integers(9, 13),
    st.sampled_from([20, 30, 45]),
    st.booleans(),
)
two_packers = (PackerRange(150, 300, 1.5), PackerRange(150, 300, 1.5))
an_overlap = st.none() | st.just(Overlap(20 * MIN, 3 * HOUR))
some_stops = st.lists(
    st.tuples(st.integers(1, 5), st.integers(30, 150), st.integers(10, 60)), min_size=1, max_size=4
).map(
    lambda rows: [
        repair(f"R{n}", place, cure_s=cure * MIN, cure_bound_s=cure * MIN, setup_s=up * MIN)
        for n, (place, cure, up) in enumerate(rows)
    ]
)


@given(stops=some_stops, lunch=a_lunch, overlap=an_overlap)
def test_a_strip_has_no_gap_and_drives_as_long_as_the_clock(
    stops: list[PlannedRepair], lunch: Lunch | None, overlap: Overlap | None
) -> None:
    """From leaving to being back, piece after piece; driving, set-ups and finishes add up."""
    travel, day = road(), crew_day(lunch=lunch, overlap=overlap, packers=two_packers)
    clock = simulate(travel, day, stops)
    if not isinstance(clock, Timeline):
        return

    found = drawn(travel, day, stops)

    assert (found[0].starts_s, found[-1].ends_s) == (day.starts_s, clock.back_s)
    assert all(one.ends_s == other.starts_s for one, other in pairwise(found))
    assert of_kind(found, Doing.DRIVE) == clock.travel_s
    assert of_kind(found, Doing.SET_UP) == sum(each.setup_s for each in stops)
    assert of_kind(found, Doing.FINISH) == sum(each.finish_s for each in stops)
    if lunch is not None and clock.lunch is not None and clock.lunch.where != "before the shift":
        assert of_kind(found, Doing.LUNCH) == lunch.length_s


def test_an_inner_repair_is_drawn_as_the_crew_works() -> None:
    """Set up, drive, set up, drive back, finish, drive, finish: by hand, on the road."""
    day = crew_day(
        starts_s=7 * HOUR,
        ends_s=11 * HOUR + 30 * MIN,
        overtime_s=0,
        overlap=Overlap(20 * MIN, 2 * HOUR),
        packers=two_packers,
    )
    stops = [repair("outer", 1, cure_s=90 * MIN, cure_bound_s=90 * MIN), repair("inner", 2)]

    found = drawn(road(), day, stops)

    what = [(each.doing, each.stop) for each in found if each.doing is not Doing.CURE]
    assert what == [
        (Doing.DRIVE, 0),
        (Doing.SET_UP, 0),
        (Doing.DRIVE, 1),
        (Doing.SET_UP, 1),
        (Doing.DRIVE, 0),
        (Doing.FINISH, 0),
        (Doing.DRIVE, 1),
        (Doing.FINISH, 1),
        (Doing.DRIVE, None),
    ]


def test_lunch_is_cut_out_of_the_cure_it_is_taken_in() -> None:
    """The crew eats beside the packer: cure, lunch, cure; the sum is the cure."""
    noon = Lunch(8 * HOUR, 13 * HOUR, 30 * MIN)

    found = drawn(road(), crew_day(lunch=noon), [repair("R", cure_bound_s=70 * MIN)])

    assert [each.doing for each in found] == [
        Doing.DRIVE,
        Doing.SET_UP,
        Doing.CURE,
        Doing.LUNCH,
        Doing.CURE,
        Doing.FINISH,
        Doing.DRIVE,
    ]
    assert of_kind(found, Doing.CURE) + of_kind(found, Doing.LUNCH) == 70 * MIN


@pytest.mark.parametrize(
    ("beside", "rows"),
    [
        ([None, None], (0, 0)),
        ([None, 0], (0, 1)),
        ([None, 0, 1, None], (0, 1, 0, 0)),  # down a run, each in the cure of the one before
    ],
)
def test_live_sleeves_never_cover_each_other(
    beside: list[int | None], rows: tuple[int, ...]
) -> None:
    """The inner one of two has the other row."""
    assert tracks(beside) == rows
