"""How a fault shows what was sent."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.problem import shown

SENT = st.recursive(
    st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=2), inner),
    max_leaves=4,
)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (None, "nothing"),
        ({"value": 22}, '{"value": 22}'),
        ([True, None, "x"], '[true, null, "x"]'),
        (False, "false"),
        (22, "22"),
        ("22", "'22'"),  # a text, where a number was wanted
        ({"street": "Größe"}, '{"street": "Größe"}'),
        (["\x7f\u202e\ud800"], '["\\u007f\\u202e\\ud800"]'),  # nothing turns the line round
    ],
)
def test_what_was_sent_is_shown_as_json(sent: Any, said: str) -> None:
    """Whoever wrote JSON finds it again, and not what Python makes of it."""
    assert shown(sent) == said


@given(SENT.filter(lambda sent: not isinstance(sent, str)))
def test_it_can_be_read_back_or_is_cut_to_a_line(sent: Any) -> None:
    """Printable on one line whatever it is; cut only where it is long."""
    said = shown(sent)

    assert said.isprintable()
    assert len(said) <= 80
    if not said.endswith("…"):
        assert json.loads(said) == sent
