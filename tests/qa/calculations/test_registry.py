import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.calculations.calculation import Calculation, answer
from qa.calculations.registry import CALCULATIONS
from repairs.domain.problem import Refused
from tests.qa.calculations.asking import NOW, faults, of

ROOT = Path(__file__).parents[3]
EACH = pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=CALCULATIONS)


@EACH
def test_the_example_of_each_runs_and_shows_its_working(calculation: Calculation) -> None:
    """Whoever copies the example gets figures, working, a source and a caution, all plain JSON."""
    found = answer(calculation, calculation.example, now=NOW)

    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["result"]
    assert found["working"]
    assert found["source"]
    assert found["caution"]


@EACH
def test_each_has_its_page(calculation: Calculation) -> None:
    """The page a calculation points at exists and says from which module it comes."""
    text = (ROOT / calculation.page).read_text(encoding="utf-8")

    assert "source: `" in text


@EACH
def test_each_field_left_out_is_either_named_or_not_needed(calculation: Calculation) -> None:
    """No calculation breaks on a missing field: it is required and named, or it has a default."""
    for field in calculation.takes:
        sent = {name: value for name, value in calculation.example.items() if name != field.name}
        if field.required:
            with pytest.raises(Refused) as refused:
                answer(calculation, sent, now=NOW)
            assert [fault.field for fault in refused.value.faults] == [field.name]


@EACH
@pytest.mark.parametrize("nonsense", [None, True, [], {}, "", "x", -1e300, [[]], {"value": "1"}])
def test_nonsense_in_any_field_is_refused_by_name(calculation: Calculation, nonsense: Any) -> None:
    """Whatever JSON is sent for a field, the answer is figures or a problem, never a crash."""
    for field in calculation.takes:
        sent = {**calculation.example, field.name: nonsense}

        assert is_answered(calculation, sent)


def is_answered(calculation: Calculation, sent: dict[str, Any]) -> bool:
    """Return whether there are figures, or a problem that names a field."""
    try:
        return bool(answer(calculation, sent, now=NOW)["result"])
    except Refused as refused:
        return refused.code == "malformed" and bool(refused.faults)


@pytest.mark.parametrize("sent", [None, [], "text", 7])
def test_a_body_that_is_no_object_is_refused(sent: Any) -> None:
    """A list or a number is no set of fields."""
    with pytest.raises(Refused) as refused:
        answer(CALCULATIONS["units"], sent, now=NOW)

    assert refused.value.faults[0].field == "body"


def test_a_misspelt_field_is_told_the_nearest_one() -> None:
    """Nothing is silently ignored."""
    assert faults("resin", lenght=of(1, "m"))["lenght"][1].startswith("length")


def test_every_wrong_field_is_named_at_once() -> None:
    """Nobody has to send five times to learn of five faults."""
    assert set(faults("resin", ratio_a=0, ratio_basis="weight", length=None)) == {
        "ratio_a",
        "ratio_basis",
        "length",
    }


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)


@given(st.sampled_from(sorted(CALCULATIONS)), st.data())
def test_any_json_for_a_field_is_answered(name: str, data: st.DataObject) -> None:
    """Figures or a problem that names a field, whatever is sent."""
    calculation = CALCULATIONS[name]
    field = data.draw(st.sampled_from([field.name for field in calculation.takes]))

    assert is_answered(calculation, {**calculation.example, field: data.draw(JSON)})


@given(
    st.sampled_from(sorted(CALCULATIONS)),
    st.data(),
    st.floats(allow_nan=False, allow_infinity=False),
)
def test_any_number_in_a_unit_is_answered(name: str, data: st.DataObject, value: float) -> None:
    """Also those far outside: told their bounds, never a crash."""
    calculation = CALCULATIONS[name]
    sent = {**calculation.example}
    field = data.draw(st.sampled_from(sorted(sent)))
    if isinstance(sent[field], dict) and "unit" in sent[field]:
        sent[field] = {**sent[field], "value": value}
    elif isinstance(sent[field], float | int):
        sent[field] = value

    assert is_answered(calculation, sent)
