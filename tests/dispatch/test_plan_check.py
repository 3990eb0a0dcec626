"""The checker of a plan: what it refuses, and what a plan costs, worked by hand."""

import pytest

from dispatch.domain.plan.plan import check
from dispatch.domain.plan.problem import PackerRange, Promise
from dispatch.domain.plan.weights import Priority, Weights
from tests.dispatch.plan_example import HOUR, MIN, checked, crew_day, problem, repair


def codes(of: object) -> list[str]:
    """Return the codes of a refused plan."""
    assert isinstance(of, tuple), of
    return [each.code for each in of]


def test_what_a_plan_costs_by_hand() -> None:
    """Driving, overtime twice, a day late, another crew, and a B left out that is late by then."""
    late = repair("late", 2, due_day=-1)
    moved = repair("moved", 2)
    long = repair("long", 2, setup_s=2 * HOUR)
    left_out = repair("left out", 3, due_day=0)
    of = problem(
        [crew_day(ends_s=15 * HOUR - 20 * MIN)],
        [late, moved, long, left_out],
        promised={"moved": Promise("south", 0)},
    )

    cost = checked(of, {"north/0": ("late", "moved", "long")}).cost

    assert (cost.travel_s, cost.late_days, cost.changes) == (40 * MIN, 1, 1)
    assert cost.overtime_s == 30 * MIN  # 40 driving and 450 of work: back at 15:10, not 14:40
    assert cost.total_s == (40 + 2 * 30 + 144 + 20 + 1500 + 144) * MIN
    assert cost.rank == (0, 0, cost.total_s)


def test_everything_that_is_wrong_is_told_at_once() -> None:
    """Twice in the plan, unknown, and on a crew-day that nobody has."""
    of = problem([crew_day(), crew_day("south")], [repair("one")])

    found = check(of, {"north/0": ("one", "two"), "south/0": ("one",), "west/0": ()})

    assert codes(found) == ["repair_unknown", "crew_day_unknown", "planned_twice"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"qualifications": frozenset({"confined"})}, "qualification_missing"),
        ({"diameter_mm": 400.0}, "packer_does_not_fit"),
        ({"sleeve_length_m": 2.0}, "packer_too_short"),
        ({"kit_code": "OTHER"}, "kit_missing"),
        ({"pinned_crew": "south"}, "pinned_elsewhere"),
        ({"pinned_day": 1}, "pinned_elsewhere"),
        ({"locked_to": "south/0"}, "locked_elsewhere"),
    ],
)
def test_a_crew_that_may_not_do_it_is_refused(changes: dict[str, object], code: str) -> None:
    """The same codes as when somebody assigns it by hand."""
    of = problem([crew_day(), crew_day("south")], [repair("one", **changes)])

    assert codes(check(of, {"north/0": ("one",)})) == [code]


def test_two_packers_are_looked_at_one_by_one() -> None:
    """The short one is wide enough, the long one is not: neither serves."""
    day = crew_day(packers=(PackerRange(150, 300, 0.8), PackerRange(100, 200, 2.0)))
    of = problem([day], [repair("one")])

    assert codes(check(of, {"north/0": ("one",)})) == ["packer_too_short"]


def test_a_truck_that_is_not_filled_up_has_its_kits_for_all_days_together() -> None:
    """Three kits, two days with two repairs each."""
    of = problem(
        [crew_day(), crew_day(day=1)],
        [
            repair(f"{n}", windows=(w,))
            for n, w in enumerate([repair("x").windows[0]] * 2 + [_next_day()] * 2)
        ],
        stock={("north", "KIT"): 3},
    )

    assert codes(check(of, {"north/0": ("0", "1"), "north/1": ("2", "3")})) == ["stock_used_up"]
    checked(of, {"north/0": ("0", "1"), "north/1": ("2",)})


def _next_day() -> object:
    day = repair("x").windows[0]
    return type(day)(day.opens_s + 24 * HOUR, day.closes_s + 24 * HOUR)


def test_a_plan_that_leaves_out_more_of_priority_a_is_worse_whatever_it_saves() -> None:
    """A day of eight B against one A: the sum would say otherwise, the rank does not."""
    crews = [crew_day(f"{n}") for n in range(3)]
    many = [repair(f"b{n}") for n in range(8)]
    of = problem(crews, [repair("a", priority=Priority.A), *many])

    without_a = checked(of, {f"{n}/0": tuple(f"b{n * 3 + i}" for i in range(3)) for n in (0, 1)})
    with_a = checked(of, {"0/0": ("a",)})

    assert with_a.cost.rank < without_a.cost.rank
    assert with_a.cost.total_s > 0


@pytest.mark.parametrize(
    "wrong", [{"a_s": 10}, {"c_s": 2_000 * MIN}, {"late_day_s": 700 * MIN}, {"change_s": -1}]
)
def test_prices_that_turn_the_order_round_are_refused(wrong: dict[str, int]) -> None:
    """Pinned over A over B over C over a day late."""
    with pytest.raises(ValueError, match=r"must be more than|may not be below"):
        Weights(**wrong)
