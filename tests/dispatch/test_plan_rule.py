"""Plans by a rule, plans mended, repairs refused and explained, and what changed between two."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.could_stay import could_stay
from dispatch.domain.plan.difference import differences
from dispatch.domain.plan.explain import explain
from dispatch.domain.plan.fit import misfit
from dispatch.domain.plan.greedy import greedy, nearest, nearest_as_free
from dispatch.domain.plan.mend import mend
from dispatch.domain.plan.plan import left_out_price_s
from dispatch.domain.plan.problem import CrewDay, PackerRange, PlannedRepair, Problem, Window
from dispatch.domain.plan.refusal import Refusal
from dispatch.domain.plan.route import drive
from dispatch.domain.plan.validate import possible
from dispatch.domain.plan.weights import Priority
from tests.dispatch.plan_example import (
    DAY,
    HOUR,
    MIN,
    checked,
    crew_day,
    problem,
    repair,
    some_crew_days,
    some_repairs,
)

A_FAR = repair("far A", 2, priority=Priority.A)


def test_priority_first_then_the_nearest() -> None:
    """There is room for one: the rule takes the A further away, the baseline the nearest."""
    of = problem([crew_day(ends_s=10 * HOUR, overtime_s=0)], [repair("near C"), A_FAR])

    assert greedy(of) == {"north/0": ("far A",)}
    assert nearest(of) == {"north/0": ("near C",)}


def test_all_crews_go_out_where_nobody_planned() -> None:
    """Two crews, two repairs a crew could do alone: truck after truck one stays in the yard."""
    days = [crew_day("north"), crew_day("south")]
    of = problem(days, [repair("one"), repair("two", 2)])

    assert set(nearest(of)) == {"north/0"}
    assert {ref: len(stops) for ref, stops in nearest_as_free(of).items()} == {
        "north/0": 1, "south/0": 1,
    }  # fmt: skip


def test_an_a_takes_the_place_of_a_c_and_the_c_gets_another() -> None:
    """The plan of yesterday holds the C; only this crew has the certificate for the A."""
    able = crew_day(ends_s=10 * HOUR, overtime_s=0, qualifications=frozenset({"confined"}))
    other = crew_day("south", ends_s=10 * HOUR, overtime_s=0)
    of = problem(
        [able, other],
        [
            repair("c", priority=Priority.C),
            replace(A_FAR, qualifications=frozenset({"confined"})),
        ],
    )

    assert mend(of, {"north/0": ("c",)}) == {"north/0": ("far A",), "south/0": ("c",)}


def test_an_a_never_takes_the_place_of_an_a() -> None:
    """Nor of what the dispatcher pinned."""
    of = problem(
        [crew_day(ends_s=10 * HOUR, overtime_s=0)],
        [repair("pinned", priority=Priority.C, pinned_crew="north"), A_FAR],
    )

    assert mend(of, {"north/0": ("pinned",)}) == {"north/0": ("pinned",)}


refs = st.sampled_from([*(f"R{n}" for n in range(7)), "unknown"])
days = st.sampled_from(["north/0", "north/1", "south/0", "south/1", "west/0"])
rubbish = st.dictionaries(days, st.lists(refs, max_size=5).map(tuple), max_size=4)
stocks = st.dictionaries(
    st.sampled_from([("north", "KIT"), ("south", "KIT")]), st.integers(0, 3), max_size=2
)


@given(some_crew_days, some_repairs, rubbish, stocks)
def test_whatever_comes_in_a_mended_plan_holds(
    crew_days: list[CrewDay],
    repairs: list[PlannedRepair],
    plan: dict[str, tuple[str, ...]],
    stock: dict[tuple[str, str], int],
) -> None:
    """Unknown crew-days, repairs twice, routes nobody can drive, more kits than there are."""
    of = problem(crew_days, repairs, stock=stock)

    checked(of, mend(of, plan))
    checked(of, greedy(of))
    checked(of, nearest(of))
    checked(of, nearest_as_free(of))


@given(some_crew_days, some_repairs)
def test_a_plan_that_holds_loses_nothing_when_it_is_mended(
    crew_days: list[CrewDay], repairs: list[PlannedRepair]
) -> None:
    """And mending twice is mending once, in what it serves."""
    of = problem(crew_days, repairs)
    once = checked(of, greedy(of))

    assert checked(of, mend(of, once.plan)).cost.rank <= once.cost.rank


@pytest.mark.parametrize(
    ("changes", "code", "short_s", "words"),
    [
        ({"windows": ()}, "window_too_short", 120 * MIN, "needs 120 min, the longest window has 0"),
        ({"windows": (Window(0, HOUR),)}, "window_too_short", 60 * MIN, "longest window has 60"),
        ({"windows": (Window(0, 4 * HOUR),)}, "no_window_that_day", 0, "none of 2 crew-days"),
        ({"windows": (Window(0, 9 * HOUR),)}, "window_missed", 10 * MIN, "even alone on 1"),
        ({"place": 11, "cure_bound_s": 6 * HOUR}, "shift_too_short", 90 * MIN, "even alone"),
        ({"diameter_mm": 400.0}, "packer_does_not_fit", 0, "for instance: no packer serves 400 mm"),
        ({"pinned_crew": "south"}, "qualification_missing", 0, "pinned_elsewhere 1"),
        ({"kits_needed": 7}, "kit_missing", 0, "7 of KIT needed, the truck carries 6"),
        ({"place": 12}, "malformed", 0, "0 to 11 would be right"),
        ({"cure_bound_s": 0}, "malformed", 0, "less than the cure of 3600 s"),
        ({"finish_s": -1}, "malformed", 0, "finish_s is -1"),
    ],
)
def test_what_nobody_could_do_is_refused_and_the_rest_is_planned(
    changes: dict[str, object], code: str, short_s: int, words: str
) -> None:
    """One wrong order does not stop the week; it comes back with its numbers."""
    confined = frozenset({"confined"})
    north = crew_day(qualifications=confined)
    south = crew_day("south", starts_s=8 * HOUR, kits={})
    bad = repair("bad", **{"qualifications": confined, **changes})

    left, refused = possible(problem([north, south], [bad, repair("good")]))

    assert [each.ref for each in left.repairs] == ["good"]
    assert [(each.code, each.repair, each.short_s) for each in refused] == [(code, "bad", short_s)]
    assert words in refused[0].words


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (crew_day(ends_s=6 * HOUR), "an end after its start"),
        (crew_day(overtime_s=-1), "overtime_s is -1"),
        (crew_day(end_place=12), "ends at 12; one is unknown"),
        (crew_day(kits={"KIT": -1}), "fewer than 0 kits"),
        (crew_day("south"), "crew-day south/0: is there twice"),
    ],
)
def test_a_crew_day_that_makes_no_sense_is_left_out_with_a_word(day: CrewDay, words: str) -> None:
    """The other crew is planned; a repair that is there twice is planned once."""
    of = problem([crew_day("south"), day], [repair("one"), repair("one", 2)])

    left, refused = possible(of)

    assert [each.ref for each in left.crew_days] == ["south/0"]
    assert left.repairs == (of.repairs[0],)
    assert [(each.code, each.repair) for each in refused] == [
        ("malformed", ""),
        ("malformed", "one"),
    ]
    assert words in refused[0].words


def test_why_a_repair_is_left_out_is_counted_over_all_crew_days() -> None:
    """One crew has no packer, one is full but for ten minutes, one has a C that could leave."""
    no_packer = crew_day("north", packers=(PackerRange(300, 500),))
    full = crew_day("south", ends_s=9 * HOUR + 30 * MIN, overtime_s=0)
    soft = crew_day("west", ends_s=9 * HOUR + 30 * MIN, overtime_s=0)
    of = problem(
        [no_packer, full, soft],
        [repair("b"), repair("c", priority=Priority.C), repair("left out")],
    )

    found = explain(of, {"south/0": ("b",), "west/0": ("c",)}, of.repair["left out"])

    assert found.counted == {"packer_does_not_fit": 1, "shift_too_short": 2}
    assert found.words == "shift_too_short 2, packer_does_not_fit 1"
    assert found.closest is not None
    assert found.closest.short_s == 110 * MIN  # 2 x 2 h and 20 min of road in 2 h 30
    (way,) = found.ways_in
    assert (way.crew_day, way.instead_of, way.more_s) == ("west/0", "c", 600 * MIN)


def test_where_it_fits_the_three_cheapest_ways_in_are_told() -> None:
    """Four crews at the end of the road, two of them at work already nearby."""
    crews = [crew_day(f"{n}", start_place=n, end_place=n) for n in range(4)]
    of = problem(crews, [repair("left out", 3)])

    found = explain(of, {}, of.repair["left out"])

    assert found.counted == {"fits": 4}
    assert [(way.crew_day, way.more_s) for way in found.ways_in] == [
        ("3/0", 0),
        ("2/0", 20 * MIN),
        ("1/0", 40 * MIN),
    ]


@given(some_crew_days, some_repairs)
def test_every_repair_left_out_has_its_reasons(
    crew_days: list[CrewDay], repairs: list[PlannedRepair]
) -> None:
    """As many as there are crew-days, and a way in that is told can be driven."""
    of = problem(crew_days, repairs)
    plan = checked(of, nearest(of))

    for ref in plan.left_out:
        found = explain(of, plan.plan, of.repair[ref])
        assert sum(found.counted.values()) == len(crew_days)
        for way in found.ways_in:
            stops = [each for each in plan.plan.get(way.crew_day, ()) if each != way.instead_of]
            stops.insert(way.index, ref)
            after = checked(of, {**plan.plan, way.crew_day: tuple(stops)})
            assert after.cost.total_s - plan.cost.total_s == way.more_s - left_out_price_s(
                of, of.repair[ref]
            )


def test_each_change_has_its_cause() -> None:
    """A crew is ill, a packer broke, one came in, one was done, and one was only cheaper."""
    was = problem(
        [crew_day("ill"), crew_day("north"), crew_day("south")],
        [repair("r1"), repair("r2"), repair("r3", 3), repair("done", 2)],
    )
    before = checked(was, {"ill/0": ("r1",), "north/0": ("r2",), "south/0": ("done", "r3")})
    now = problem(
        [crew_day("north", packers=()), crew_day("south"), crew_day("west", day=0)],
        [repair("r1"), repair("r2"), repair("r3", 3), repair("urgent", priority=Priority.A)],
    )
    after = checked(now, {"south/0": ("urgent", "r1"), "west/0": ("r2", "r3")})

    found = {each.repair: each for each in differences(now, before, after)}

    assert {ref: (each.kind, each.forced) for ref, each in found.items()} == {
        "done": ("gone", True),
        "r1": ("moved", True),
        "r2": ("moved", True),
        "r3": ("moved", False),
        "urgent": ("new", False),
    }
    causes = {ref: each.cause.code for ref, each in found.items() if each.cause is not None}
    assert causes == {"r1": "crew_day_gone", "r2": "packer_does_not_fit", "r3": "cheaper"}


def test_of_a_broken_route_only_what_must_leave_is_forced_to() -> None:
    """The first takes two hours longer than was thought: one of the three has to go, not two."""
    was = problem([crew_day(overtime_s=0), crew_day("south")], [repair(f"r{n}") for n in range(3)])
    before = checked(was, {"north/0": ("r0", "r1", "r2")})
    now = replace(was, repairs=(repair("r0", setup_s=150 * MIN), *was.repairs[1:]))
    after = checked(now, {"north/0": ("r0",), "south/0": ("r2", "r1")})

    found = {each.repair: each for each in differences(now, before, after)}

    causes = {ref: (each.cause.code, each.forced) for ref, each in found.items() if each.cause}
    assert causes == {"r1": ("cheaper", False), "r2": ("route_no_longer_fits", True)}


@given(some_crew_days, some_repairs, st.integers(0, 5), st.integers(30, 240))
def test_no_more_are_forced_out_of_a_route_than_have_to_leave(
    crew_days: list[CrewDay], repairs: list[PlannedRepair], which: int, longer_min: int
) -> None:
    """One repair takes longer than was thought; what could have stayed does drive together."""
    was = problem(crew_days, repairs)
    before = greedy(was)
    late = repairs[which % len(repairs)]
    longer = replace(late, setup_s=late.setup_s + longer_min * MIN)
    now = problem(crew_days, [longer if each is late else each for each in repairs])
    after = mend(now, before)

    for ref, stops in before.items():
        stay = could_stay(now, before, after, ref)
        assert stay >= set(stops) & set(after.get(ref, ()))
        if not isinstance(drive(now.travel, now.crew_day[ref], refs_of(now, stops)), Refusal):
            assert stay == {s.ref for s in refs_of(now, stops) if fits(now, ref, s)}


def refs_of(of: Problem, refs: tuple[str, ...]) -> list[PlannedRepair]:
    """Return the repairs by their references."""
    return [of.repair[each] for each in refs]


def fits(of: Problem, ref: str, stop: PlannedRepair) -> bool:
    """Return whether a crew-day may do a repair at all."""
    return misfit(of.crew_day[ref], stop) is None


def test_another_time_on_the_same_day_names_what_came_between() -> None:
    """Two hours and more later, since an urgent one goes first; under a quarter hour is silent."""
    of = problem([crew_day()], [repair("first"), repair("urgent"), repair("near", 2)])
    before = checked(of, {"north/0": ("first",)})

    (other, new) = differences(of, before, checked(of, {"north/0": ("urgent", "first")}))

    assert (other.kind, new.kind) == ("other_time", "new")
    assert other.cause is not None
    assert other.cause.words == "urgent came in"
    assert other.cause.short_s == 120 * MIN
    assert "120 min later" in other.words


def test_left_out_for_another_one_says_which() -> None:
    """There is room for one: the A came, the B that was there must wait."""
    of = problem([crew_day(ends_s=10 * HOUR, overtime_s=0)], [repair("b"), A_FAR])
    before, after = checked(of, {"north/0": ("b",)}), checked(of, {"north/0": ("far A",)})

    gone = {each.repair: each for each in differences(of, before, after)}["b"]

    assert (gone.kind, gone.forced) == ("left_out", False)
    assert gone.cause is not None
    assert gone.cause.code == "gave_way"
    assert gone.cause.words.startswith("far A took its place")


def test_a_pinned_day_is_kept() -> None:
    """Tomorrow, as the owner asked, although today is free."""
    of = problem(
        [crew_day(), crew_day(day=1)],
        [repair("one", pinned_day=1, windows=(Window(0, 2 * DAY),))],
    )

    assert greedy(of) == {"north/1": ("one",)}
