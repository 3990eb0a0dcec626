"""The edition of what is editable changes with its values, and with nothing else."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.edition import ANY, edition_of, refuse_stale
from repairs.domain.problem import Refused

VALUES = st.dictionaries(
    st.text(max_size=5), st.none() | st.floats(allow_nan=False) | st.text() | st.booleans()
)


@given(VALUES)
def test_the_order_of_the_fields_does_not_matter(values: dict[str, object]) -> None:
    """The same values are the same edition."""
    assert edition_of(dict(reversed(values.items()))) == edition_of(values)


@given(VALUES, st.floats(0.0, 100.0))
def test_another_value_is_another_edition(values: dict[str, object], number: float) -> None:
    """Whatever else stands there."""
    before, after = {**values, "length_m": number}, {**values, "length_m": number + 0.5}

    assert edition_of(before) != edition_of(after)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (None, ""),  # not known is not empty
        (None, False),
        (0.0, False),  # no offset is not 'no'
        ("1", 1.0),
        (date(2026, 11, 25), date(2026, 11, 26)),
        (datetime(2026, 11, 25, 8, tzinfo=UTC), datetime(2026, 11, 25, 9, tzinfo=UTC)),
    ],
)
def test_values_that_look_alike_are_kept_apart(one: object, other: object) -> None:
    """Each is an edition of its own."""
    assert edition_of({"x": one}) != edition_of({"x": other})


def test_only_the_present_edition_may_be_changed() -> None:
    """A stale edition is refused with a code of its own; the star takes whatever is there."""
    refuse_stale("b", frozenset({"a", "b"}))
    refuse_stale("b", frozenset({ANY}))

    with pytest.raises(Refused) as refused:
        refuse_stale("b", frozenset({"a"}))

    assert (refused.value.code, refused.value.status) == ("changed_meanwhile", 412)
