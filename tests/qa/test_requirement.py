"""How a contract's requirements are checked on entry and judged together."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.requirement import RULES, judge_all, requirement_faults
from qa.domain.verdict import Outcome
from tests.contract_example import OF_SOME_CONTRACTS, REQUIREMENT_CODES, REQUIREMENTS
from tests.field_sequence import MINUTES
from tests.qa.facts_example import a_day


def test_a_good_day_meets_every_requirement_there_is() -> None:
    """The example day passes each rule, so each table's change is what makes it fail."""
    judged = judge_all(REQUIREMENTS, a_day(), {})

    assert {each.code: each.verdict.reason for each in judged if not each.closes} == {}
    assert [each.code for each in judged] == list(REQUIREMENT_CODES)


def test_the_example_contract_asks_for_everything() -> None:
    """A rule that is added must be added to the example or to those that are tried apart."""
    assert set(RULES) == {*REQUIREMENT_CODES, *OF_SOME_CONTRACTS}


def test_a_waiver_closes_and_stays_visible() -> None:
    """What was let go keeps its verdict and says who let it go."""
    day = a_day(data={"left": None})
    waiver = ("Invented Person", "client's engineer", "seen on site")

    judged = {each.code: each for each in judge_all(REQUIREMENTS, day, {"flow_restored": waiver})}

    assert judged["flow_restored"].closes
    assert judged["flow_restored"].waiver == waiver
    assert judged["flow_restored"].verdict.outcome is Outcome.INCOMPLETE


def test_a_waiver_of_something_else_closes_nothing() -> None:
    """Only the requirement that is named is let go."""
    judged = judge_all(REQUIREMENTS, a_day(data={"left": None}), {"hold_test": ("a", "b", "c")})

    assert [each.code for each in judged if not each.closes] == ["flow_restored"]


@given(missing=st.sets(st.sampled_from(sorted(MINUTES))))
def test_whatever_is_missing_every_requirement_is_answered(missing: set[str]) -> None:
    """No gap in the reports makes a rule break, and what was not shown is never 'met'."""
    day = a_day(data=dict.fromkeys(missing), evidence=(), pressure=None, lots={}, packers={})

    judged = {each.code: each.verdict for each in judge_all(REQUIREMENTS, day, {})}

    assert all(verdict.reason for verdict in judged.values())
    for code in ("pre_repair_film", "post_repair_film", "cure_pressure_held", "lot_label_photo"):
        assert judged[code].outcome is Outcome.INCOMPLETE
    assert all(v.settle for v in judged.values() if v.outcome is not Outcome.MET)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ([], "requirements: found none"),
        ([{"code": "lunch"}], "requirements[0].code: found 'lunch'"),
        ([{}], "requirements[0].code: found nothing"),
        (["hold_test"], "requirements[0].code: found nothing"),
        ([{"code": ["hold_test"]}], 'requirements[0].code: found ["hold_test"]'),
        ([REQUIREMENTS[0], REQUIREMENTS[0]], "each requirement once"),
    ],
)
def test_a_table_with_unknown_or_doubled_requirements_is_refused(table: Any, said: str) -> None:
    """The fault names the row, what was found and what was expected."""
    found = list(requirement_faults(table))

    assert len(found) == 1
    assert said in str(found[0])


def test_the_example_table_is_accepted() -> None:
    """Every code once, in the contract's own order."""
    assert list(requirement_faults(REQUIREMENTS)) == []
