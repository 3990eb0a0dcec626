"""What a record can hold, on every database alike."""

import json
import sqlite3
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.storable import DEEPEST, LARGEST_INT, unstorable


@pytest.mark.parametrize(
    "value",
    [None, True, 0, LARGEST_INT, -LARGEST_INT, 1e308, "", "naïve 🙂", "\n\t", [], {}, {"a": [1]}],
)
def test_usual_values_can_be_held(value: Any) -> None:
    """Text of any language, finite numbers and plain nesting are fine."""
    assert unstorable(value) is None


@pytest.mark.parametrize(
    "value",
    ["\x00", "half \ud800", "\udfff half", float("nan"), float("inf"), LARGEST_INT + 1, ["\x00"]],
)
def test_what_a_database_refuses_is_named(value: Any) -> None:
    """NUL, half characters and numbers beyond reckoning are told in words."""
    assert unstorable(value)


def test_nesting_ends_at_its_limit() -> None:
    """One level more than allowed is one too many."""
    at_limit: Any = "x"
    for _ in range(DEEPEST):
        at_limit = [at_limit]

    assert unstorable(at_limit) is None
    assert unstorable([at_limit]) is not None


@given(
    st.recursive(
        st.none() | st.floats() | st.text() | st.integers(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
        max_leaves=8,
    )
)
def test_what_passes_goes_through_a_database_unchanged(value: Any) -> None:
    """SQLite itself, as an outside check, calls what passes valid JSON and gives it back."""
    if unstorable(value) is None:
        text = json.dumps(value, ensure_ascii=False)
        found = sqlite3.connect(":memory:").execute("SELECT json_valid(?), ?", (text, text))
        valid, back = found.fetchone()
        assert valid == 1
        assert json.loads(back) == value
