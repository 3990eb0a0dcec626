"""The engine's door: never worse than the rule, never a plan that does not hold, and the oracle."""

from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks.planning import DATA
from benchmarks.planning_cases import Case, make
from benchmarks.planning_solomon import read_problem
from dispatch.domain.plan.greedy import greedy, nearest
from dispatch.domain.plan.plan import Plan
from dispatch.domain.plan.problem import (
    CrewDay,
    Lunch,
    PlannedRepair,
    Problem,
    Promise,
    Window,
)
from dispatch.domain.plan.weights import Priority, Weights
from dispatch.planning import engine
from dispatch.planning.alternatives import Alternative, alternatives
from dispatch.planning.budget import Budget, Spent
from dispatch.planning.engine import PlanEngine, Planned
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
from tests.dispatch.plan_oracle import cheapest_total_s

QUICK = Budget(iterations=400)


def solve(of: Problem, budget: Budget = QUICK, seed: int = 1, **more: Plan) -> Planned:
    """Return what the engine plans; whatever it is, it must hold."""
    planned = PlanEngine().solve(of, budget, seed, **more)
    assert checked(planned.problem, planned.best.plan) == planned.best
    return planned


def tiny(seed: int) -> Problem:
    """Return at most four crew-days and eight repairs."""
    days = 1 + seed % 2
    case = make(Case(2 + seed % 3, 8, days, days), seed)
    return replace(case, crew_days=case.crew_days[:4])


@pytest.mark.parametrize("seed", range(200, 210))
def test_a_tiny_case_is_planned_as_well_as_by_trying_everything(seed: int) -> None:
    """The oracle drives every order on every crew-day; nothing may be better than it."""
    planned = solve(tiny(seed), Budget(iterations=1500), seed)

    assert planned.best.cost.total_s == cheapest_total_s(planned.problem)


@pytest.mark.parametrize("seed", range(300, 310))
def test_one_more_crew_never_means_fewer_repairs(seed: int) -> None:
    """Neither in what could be served at most nor in what the engine's plan serves."""
    of = tiny(seed)
    fewer = replace(of, crew_days=of.crew_days[:-1])

    assert cheapest_total_s(of, count_only=True) <= cheapest_total_s(fewer, count_only=True)
    assert cheapest_total_s(of) <= cheapest_total_s(fewer)
    assert served(of, seed) >= served(fewer, seed)


def served(of: Problem, seed: int) -> int:
    """Return how many repairs the engine's plan holds."""
    return sum(len(repairs) for repairs in solve(of, seed=seed).best.plan.values())


@given(some_crew_days, some_repairs, st.booleans())
def test_whatever_the_search_finds_the_plan_holds_and_is_not_worse_than_the_rule(
    crew_days: list[CrewDay], repairs: list[PlannedRepair], lunch: bool
) -> None:
    """Also with a lunch that the search does not know of."""
    if lunch:
        crew_days = [
            replace(
                day,
                lunch=Lunch(
                    day.day * DAY + 11 * HOUR, day.day * DAY + 12 * HOUR, HOUR, in_cure=False
                ),
            )
            for day in crew_days
        ]
    planned = solve(problem(crew_days, repairs), Budget(iterations=20))

    rule = checked(planned.problem, greedy(planned.problem))
    assert planned.best.cost.rank <= rule.cost.rank


def test_the_same_seed_and_steps_give_the_same_plan() -> None:
    """And what is stored with it says how it was made."""
    of = make(Case(4, 24, 2, 2), 7)

    one, two = solve(of, seed=3), solve(of, seed=3)

    assert one.best == two.best
    assert (one.costs, one.seed, one.steps) == (two.costs, 3, 401)
    assert one.engine.startswith("pyvrp 0.14")
    assert one.method == "search"
    assert one.costs["search"] < one.costs["rule"]


@pytest.mark.parametrize("seed", [401, 402, 403])
def test_under_overload_no_simple_rule_serves_more_of_priority_a(seed: int) -> None:
    """Two crews for forty repairs in a day: whatever else is lost, A is served first."""
    of = make(Case(2, 40, 1, 1), seed)
    planned = solve(of, seed=seed)

    for rule in (greedy, nearest):
        by_rule = checked(planned.problem, rule(planned.problem)).cost
        assert planned.best.cost.left_out_a <= by_rule.left_out_a


def test_yesterdays_plan_stays_when_nothing_better_is_found() -> None:
    """It cost nothing to search for one step; the better plan of yesterday is kept."""
    of = make(Case(4, 24, 2, 2), 7)
    good = solve(of, Budget(iterations=1200)).best

    again = solve(of, Budget(iterations=1), previous=good.plan)

    assert again.best.cost.rank <= good.cost.rank


def test_a_promise_is_kept_unless_it_costs_more_than_its_price() -> None:
    """Another crew is 20 min nearer; the promise of this one is worth an hour."""
    crews = [crew_day("north"), crew_day("south", start_place=1, end_place=1)]
    promised = {"one": Promise("north", 0)}

    told = problem(crews, [repair("one")], promised=promised, weights=Weights(change_s=60 * MIN))
    assert solve(told).best.plan == {"north/0": ("one",)}
    assert solve(replace(told, promised={})).best.plan == {"south/0": ("one",)}


def rubbish(_of: Problem, _start: Plan, _spent: Spent, _seed: int) -> Plan:
    """Return a plan that nobody could follow."""
    return {"north/0": ("one", "one", "two"), "moon/0": ("two",)}


def nothing(_of: Problem, _start: Plan, _spent: Spent, _seed: int) -> None:
    """Return no plan at all, as a search may."""


@pytest.mark.parametrize("search", [rubbish, nothing])
def test_a_search_that_fails_cannot_spoil_the_plan(search: Callable[..., Plan | None]) -> None:
    """The rule's plan is there before it."""
    of = problem([crew_day()], [repair("one"), repair("two", 2)])
    planned = PlanEngine(search).solve(of, QUICK, 1)

    assert sorted(planned.best.plan["north/0"]) == ["one", "two"]
    assert planned.engine == "another"
    assert bool(planned.words) == (search is nothing)


def test_without_the_engine_there_is_a_plan_and_a_plain_word(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The extra is not installed: nothing breaks, and it says so."""
    monkeypatch.setattr(
        engine, "find_spec", lambda name: None if name == "pyvrp" else find_spec(name)
    )
    planned = solve(problem([crew_day()], [repair("one")]))

    assert planned.best.plan == {"north/0": ("one",)}
    assert (planned.method, planned.engine) == ("rule", "none")
    assert "not installed" in planned.words


def test_the_first_plan_is_there_before_the_search_begins() -> None:
    """A dispatcher sees it at once; and what nobody can do is refused, not the plan."""
    first: list[object] = []
    planned = PlanEngine().solve(
        problem([crew_day()], [repair("one"), repair("bad", diameter_mm=900.0)]),
        QUICK,
        1,
        on_first=first.append,
    )

    assert len(first) == 1
    assert [each.code for each in planned.refused] == ["packer_does_not_fit"]


@pytest.mark.parametrize("of", [problem([], [repair("one")]), problem([crew_day()], [])])
def test_nobody_to_send_or_nothing_to_do_is_a_plan_too(of: Problem) -> None:
    """An empty one."""
    assert solve(of).best.plan == {}


def test_a_week_of_whole_days_is_one_alternative_until_it_is_late() -> None:
    """Days of the same worth and nothing closed between them are one; each late day is another."""
    week = [crew_day(day=day) for day in range(4)]
    one = repair("one", windows=(Window(0, 4 * DAY),), due_day=1)
    of = problem(week, [one])
    worth = (1500 + 144 * 3) * MIN  # left out it would count as done on day 4, three days late

    assert alternatives(of, one, week) == (
        Alternative("one", 7 * HOUR, DAY + 14 * HOUR, worth),
        Alternative("one", 2 * DAY + 7 * HOUR, 2 * DAY + 14 * HOUR, worth - 144 * MIN),
        Alternative("one", 3 * DAY + 7 * HOUR, 3 * DAY + 14 * HOUR, worth - 288 * MIN),
    )


def test_a_barred_day_parts_the_alternatives() -> None:
    """Monday and Wednesday are open, Tuesday is not: nothing may begin on Tuesday."""
    week = [crew_day(day=day) for day in range(3)]
    one = repair("one", windows=(Window(0, DAY), Window(2 * DAY, 3 * DAY)))

    found = alternatives(problem(week, [one]), one, week)

    assert [(each.early_s // DAY, each.late_s // DAY) for each in found] == [(0, 0), (2, 2)]


def test_a_search_must_have_an_end() -> None:
    """By steps, processor time or the wall."""
    with pytest.raises(ValueError, match="without an end"):
        Budget()


def test_a_public_instance_comes_close_to_its_best_known_plan() -> None:
    """C104 of Solomon (1987), best known 822.9 (benchmarks/data/SOURCES.md); an easy one."""
    planned = solve(read_problem(DATA / "C104.vrptw"), Budget(iterations=600))

    assert not planned.best.left_out
    assert 8229 <= planned.best.cost.total_s <= 8229 * 1.05


def test_priority_a_is_planned_where_a_sum_would_leave_it_out() -> None:
    """Far away and long, it costs the place of three B; the crew goes there all the same."""
    far = repair("a", 11, cure_s=3 * HOUR, cure_bound_s=3 * HOUR, priority=Priority.A)
    of = problem([crew_day()], [far, *(repair(f"b{n}") for n in range(3))])

    assert "a" in solve(of).best.plan["north/0"]
