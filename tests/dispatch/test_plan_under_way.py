"""The day has begun: what is at work stays, the rest is planned from now, and trucks are loaded."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.difference import differences
from dispatch.domain.plan.load_out import Load, LotLeft, load_out
from dispatch.domain.plan.problem import Promise
from dispatch.domain.plan.under_way import UnderWay, from_now
from dispatch.domain.plan.weights import Priority
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine
from tests.dispatch.plan_example import DAY, HOUR, MIN, checked, crew_day, problem, repair


def test_a_crew_at_work_goes_on_from_its_site_with_one_kit_less() -> None:
    """At ten it is at place 4 until half past eleven; the other crew may leave at ten."""
    of = problem(
        [crew_day(), crew_day("south")],
        [repair("live", 4), repair("next", 5)],
        promised={"live": Promise("north", 0)},
        stock={("north", "KIT"): 6, ("south", "KIT"): 6},
    )

    left = from_now(of, [UnderWay("north/0", "live", 11 * HOUR + 30 * MIN)], 10 * HOUR)

    north, south = left.crew_days
    assert (north.starts_s, north.start_place, north.kits) == (11 * HOUR + 30 * MIN, 4, {"KIT": 5})
    assert (south.starts_s, south.start_place, south.kits) == (10 * HOUR, 0, {"KIT": 6})
    assert [each.ref for each in left.repairs] == ["next"]
    assert left.promised == {}
    assert left.stock == {("north", "KIT"): 5, ("south", "KIT"): 6}


def test_a_shift_that_is_over_is_gone_and_overtime_that_is_there_has_no_price() -> None:
    """Half past three: the shift ended at three, and there is half an hour to drive home in."""
    of = problem([crew_day(), crew_day(day=1)], [repair("one")])

    late, _ = from_now(of, [], 15 * HOUR + 30 * MIN).crew_days
    assert (late.starts_s, late.ends_s, late.overtime_s) == (15.5 * HOUR, 15.5 * HOUR, 30 * MIN)
    assert [each.ref for each in from_now(of, [], 16 * HOUR).crew_days] == ["north/1"]


def test_a_crew_in_its_overtime_is_planned_by_what_is_left_of_it() -> None:
    """Half past two with an hour and a half left: one repair of an hour beside the yard."""
    short = repair("one", cure_s=0, cure_bound_s=10 * MIN)
    of = problem([crew_day(ends_s=14 * HOUR, overtime_s=2 * HOUR)], [short, repair("long")])

    planned = PlanEngine().solve(from_now(of, [], 14 * HOUR + 30 * MIN), Budget(iterations=50), 1)

    assert planned.best.plan == {"north/0": ("one",)}
    assert planned.best.cost.overtime_s == 80 * MIN
    assert [(each.repair, each.code) for each in planned.refused] == [
        ("long", "no_window_that_day")
    ]


@given(st.integers(0, 2 * DAY), st.integers(0, 2 * DAY))
def test_the_later_it_is_the_less_is_left(now_s: int, later_s: int) -> None:
    """No crew-day comes back, none gets longer, and each ends when it did."""
    of = problem([crew_day(), crew_day(day=1)], [repair("one")])
    early, late = sorted((now_s, later_s))
    was = from_now(of, [], early).crew_day
    for ref, day in from_now(of, [], late).crew_day.items():
        assert day.starts_s >= was[ref].starts_s
        assert day.last_back_s == was[ref].last_back_s == of.crew_day[ref].last_back_s


def test_a_broken_morning_keeps_what_was_promised() -> None:
    """South is ill and an urgent one came: north keeps its own, the urgent one goes in first."""
    of = problem(
        [crew_day(), crew_day("south"), crew_day("west", start_place=2, end_place=2)],
        [repair("n1", 1), repair("n2", 2), repair("s1", 3, priority=Priority.C)],
    )
    before = checked(of, {"north/0": ("n1", "n2"), "south/0": ("s1",)})
    promised = {
        "n1": Promise("north", 0), "n2": Promise("north", 0), "s1": Promise("south", 0)
    }  # fmt: skip
    now = replace(
        of,
        crew_days=(of.crew_day["north/0"], of.crew_day["west/0"]),
        repairs=(*of.repairs, repair("urgent", 1, priority=Priority.A)),
        promised=promised,
    )

    after = PlanEngine().solve(now, Budget(iterations=500), 1, previous=before.plan).best

    changes = {each.repair: each for each in differences(now, before, after)}
    assert not after.left_out
    assert [ref for ref, each in changes.items() if each.kind == "moved"] == ["s1"]
    assert changes["s1"].forced
    assert changes["urgent"].kind == "new"


def test_trucks_load_what_expires_first_and_never_what_is_out_of_date() -> None:
    """Two of the old lot today; tomorrow it is out of date, and one is missing."""
    of = problem(
        [crew_day(), crew_day(day=1)],
        [repair("a"), repair("b", kits_needed=2), repair("c")],
    )
    lots = [LotLeft("new", "KIT", 9, 1), LotLeft("old", "KIT", 0, 2), LotLeft("x", "OTHER", 9, 5)]

    assert load_out(of, {"north/0": ("a",), "north/1": ("b", "c")}, lots) == (
        Load("north/0", "KIT", "old", 1),
        Load("north/1", "KIT", "new", 1),
        Load("north/1", "KIT", None, 2),
    )
