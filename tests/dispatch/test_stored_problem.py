"""A stored problem is the problem: packed, unpacked, and asked again."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.greedy import greedy
from dispatch.domain.plan.problem import CrewDay, Lunch, PlannedRepair, Promise
from dispatch.domain.plan.weights import Weights
from dispatch.plan_facts.stored_problem import pack, unpack
from tests.dispatch.plan_example import HOUR, MIN, problem, some_crew_days, some_repairs


@given(some_crew_days, some_repairs, st.booleans())
def test_what_is_unpacked_is_what_was_packed(
    days: list[CrewDay], repairs: list[PlannedRepair], lunch: bool
) -> None:
    """Every field, and with it the same plan; the same problem has the same digest."""
    noon = Lunch(11 * HOUR, 13 * HOUR, 30 * MIN) if lunch else None
    days = [replace(day, lunch=noon, qualifications=frozenset({"b", "a"})) for day in days]
    given_problem = problem(
        days,
        repairs,
        weights=Weights(change_s=60),
        stock={("north", "KIT"): 3},
        promised={repairs[0].ref: Promise("north", 0)},
    )

    packed = pack(given_problem)
    found = unpack(packed.body)

    assert found == given_problem
    assert pack(found).digest == packed.digest
    assert greedy(found) == greedy(given_problem)


@given(some_crew_days, some_repairs, st.integers(1, 600))
def test_another_problem_has_another_digest(
    days: list[CrewDay], repairs: list[PlannedRepair], later_s: int
) -> None:
    """A minute of set-up is enough."""
    longer = [replace(repairs[0], setup_s=repairs[0].setup_s + later_s), *repairs[1:]]

    assert pack(problem(days, repairs)).digest != pack(problem(days, longer)).digest
