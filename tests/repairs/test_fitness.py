"""May this defect be repaired this way: a table of rules, each with its reason."""

from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.fitness import (
    Answer,
    Compare,
    FitnessFacts,
    Rule,
    judge_fitness,
    rule_faults,
    rules_from,
)
from tests.contract_example import FITNESS_RULES

GOOD = FitnessFacts(
    defect_code="BAB",
    defect_extent_m=0.3,
    diameter_mm=300.0,
    material="concrete",
    infiltration="none",
    offset_mm=15.0,
    deformation_percent=10.0,
    roots=False,
    deposits=False,
    void_behind=False,
    connection_in_sleeve=False,
    groundwater_above_invert_m=0.5,
    inspection_filmed=True,
    kit_for_diameter=True,
    sleeves_needed=3,
    window_feasible=True,
)
"""A defect at the last step inside each limit of the example contract."""

RULES = rules_from(FITNESS_RULES)
FACTS = [item.name for item in fields(FitnessFacts)]


@pytest.mark.parametrize(
    ("changed", "answer", "spoken"),
    [
        ({}, Answer.YES, []),  # every limit is just reached
        ({"offset_mm": 15.1}, Answer.NO, ["offset_mm_no"]),
        ({"deformation_percent": 10.1}, Answer.NO, ["deformation_percent_no"]),
        ({"sleeves_needed": 4}, Answer.NO, ["sleeves_needed_no"]),
        ({"defect_code": "BAC"}, Answer.NO, ["defect_code_no"]),
        ({"void_behind": True}, Answer.NO, ["void_behind_no"]),
        ({"window_feasible": False}, Answer.NO, ["window_feasible_no"]),
        ({"kit_for_diameter": False}, Answer.NO, ["kit_for_diameter_no"]),
        ({"infiltration": "dripping"}, Answer.YES, []),  # one step below running
        ({"infiltration": "running"}, Answer.YES_AFTER, ["infiltration_yes_after"]),
        ({"roots": True}, Answer.YES_AFTER, ["roots_yes_after"]),
        ({"inspection_filmed": False}, Answer.YES_AFTER, ["inspection_filmed_yes_after"]),
        ({"roots": None}, Answer.CANNOT_TELL, ["roots_yes_after"]),  # nobody wrote it down
        # The gravest speaks first, and nobody is left out.
        (
            {"roots": True, "void_behind": None, "offset_mm": 99.0},
            Answer.NO,
            ["offset_mm_no", "void_behind_no", "roots_yes_after"],
        ),
    ],
)
def test_each_rule_speaks_one_step_beyond_its_limit(
    changed: dict[str, Any], answer: Answer, spoken: list[str]
) -> None:
    """At its limit a rule is silent, a step beyond it gives its answer and its reason."""
    found = judge_fitness(replace(GOOD, **changed), RULES)

    assert found.answer is answer
    assert [reason.code for reason in found.reasons] == spoken


@pytest.mark.parametrize(
    ("compare", "limit", "at", "beyond"),
    [
        (Compare.ABOVE, 300, 300.0, 300.1),
        (Compare.BELOW, 300, 300.0, 299.9),
        (Compare.IS, 300, 299.9, 300.0),
        (Compare.IN, (200.0, 300.0), 250.0, 300.0),
        (Compare.NOT_IN, (200.0, 300.0), 300.0, 250.0),
    ],
)
def test_each_comparison_holds_just_beyond_its_limit(
    compare: Compare, limit: Any, at: float, beyond: float
) -> None:
    """Above and below leave the limit itself out; is and in take it in."""
    rule = Rule("r", "diameter_mm", compare, limit, Answer.NO, "why", "invented")

    silent = judge_fitness(replace(GOOD, diameter_mm=at), [rule])
    speaks = judge_fitness(replace(GOOD, diameter_mm=beyond), [rule])

    assert silent.answer is Answer.YES
    assert speaks.answer is Answer.NO


def test_a_reason_says_what_was_found_and_where_the_rule_comes_from() -> None:
    """Found, reason and source come with the answer."""
    reason = judge_fitness(replace(GOOD, offset_mm=20.0), RULES).reasons[0]

    assert (reason.found, reason.source) == ("20.0", "invented for tests")
    assert "bridge the step" in reason.reason


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"fact": "colour"}, "fitness_rules[0].fact: found 'colour'"),
        ({"compare": "over"}, "compare: found 'over', expected one of is, in"),
        ({"answer": "maybe"}, "answer: found 'maybe', expected one of yes, yes after"),
        ({"compare": "above", "limit": "ten"}, "limit: found 'ten', expected a number"),
        ({"compare": "above", "limit": True}, "limit: found true, expected a number"),
        ({"compare": "in", "limit": "BAC"}, "limit: found 'BAC', expected a list"),
    ],
)
def test_a_table_that_makes_no_sense_is_refused(changed: dict[str, Any], said: str) -> None:
    """The refusal names the row, what was found and what was expected."""
    with pytest.raises(ValueError, match="fitness_rules") as refused:
        rules_from([{**FITNESS_RULES[0], **changed}])

    assert said in str(refused.value)


def test_every_fault_of_a_table_is_named_row_by_row() -> None:
    """Rows are counted from 0, as in the JSON that was sent."""
    table = [
        {**FITNESS_RULES[0], "fact": "colour", "answer": ["no"]},
        FITNESS_RULES[1],
        {"compare": "above", "limit": "x"},
    ]

    named = [fault.field for fault in rule_faults(table)]

    assert named[:2] == ["fitness_rules[0].fact", "fitness_rules[0].answer"]
    assert named[2:] == [
        f"fitness_rules[2].{name}"
        for name in ("code", "fact", "answer", "reason", "source", "limit")
    ]


@pytest.mark.parametrize("name", [item.name for item in fields(Rule)])
def test_a_rule_without_one_of_its_parts_is_refused(name: str) -> None:
    """Also a rule without reason or source: nobody could answer for it."""
    row = {key: value for key, value in FITNESS_RULES[0].items() if key != name}

    with pytest.raises(ValueError, match=rf"fitness_rules\[0\].{name}"):
        rules_from([row])


facts = st.builds(
    replace,
    st.just(GOOD),
    roots=st.none() | st.booleans(),
    void_behind=st.none() | st.booleans(),
    offset_mm=st.none() | st.floats(0, 40),
    sleeves_needed=st.none() | st.integers(0, 6),
)


@given(known=facts, order=st.permutations(RULES))
def test_the_order_of_the_rules_does_not_decide(known: FitnessFacts, order: list[Rule]) -> None:
    """However the contract lists its rules, the answer is the same."""
    one, other = judge_fitness(known, RULES), judge_fitness(known, order)

    assert one.answer is other.answer
    assert set(one.reasons) == set(other.reasons)


@given(known=facts, kept=st.sets(st.integers(0, len(RULES) - 1)))
def test_fewer_rules_are_never_stricter(known: FitnessFacts, kept: set[int]) -> None:
    """Taking rules away can only make the answer better or leave it."""
    rank = {answer: number for number, answer in enumerate(Answer)}
    some = [rule for number, rule in enumerate(RULES) if number in kept]

    assert rank[judge_fitness(known, some).answer] <= rank[judge_fitness(known, RULES).answer]


def test_what_is_not_known_never_counts_as_passed() -> None:
    """Whichever fact is missing, a rule about it answers 'cannot tell'."""
    for name in FACTS:
        rule = Rule("r", name, Compare.IS, "never so", Answer.NO, "why", "invented")
        unknown = judge_fitness(replace(GOOD, **{name: None}), [rule])
        assert unknown.answer is Answer.CANNOT_TELL
        assert unknown.reasons[0].found == "not recorded"
