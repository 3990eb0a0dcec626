"""A cursor holds what was seen, and nothing else is taken for one."""

from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.since import cursor_of, digest_of, read_cursor
from repairs.domain.problem import Fault

SEEN = st.dictionaries(st.uuids(), st.binary(min_size=6, max_size=6), max_size=20)


@given(SEEN)
def test_a_cursor_comes_back_as_it_was_given(seen: dict[UUID, bytes]) -> None:
    """Whatever was seen, in any order."""
    cursor = cursor_of(seen)

    assert read_cursor(cursor) == seen
    assert cursor_of(dict(reversed(seen.items()))) == cursor


@given(st.text(max_size=100))
def test_any_word_is_read_or_told(sent: str) -> None:
    """A mistyped cursor is a fault with its field, never an error."""
    found = read_cursor(sent)

    assert isinstance(found, dict) or found.field == "since"


@pytest.mark.parametrize("sent", ["x", "AQ!", "Ag", "AQAB", "é"])
def test_what_was_never_given_is_refused(sent: str) -> None:
    """Another version, half an entry, no base64."""
    assert isinstance(read_cursor(sent), Fault)


def test_states_that_differ_have_other_digests() -> None:
    """The order of the words says nothing; one letter does."""
    one: dict[str, Any] = {"a": 1, "b": [1, {"c": None}]}

    assert digest_of(one) == digest_of({"b": [1, {"c": None}], "a": 1})
    assert digest_of(one) != digest_of({**one, "a": 2})
