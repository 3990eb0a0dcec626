"""Names in the order in which people count."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from repairs.domain.natural import natural

NAMES = st.lists(st.text(st.sampled_from("aB-0129. "), max_size=8))


@pytest.mark.parametrize(
    "names",
    [
        ["R-6", "R-10", "R-11"],
        ["MH-2-A", "MH-2-B", "MH-10-A"],
        ["", "7", "08", "9", "10", "A"],
        ["R-1", "R-01", "R-001"][::-1],  # the same number: as it is written
        ["run 2", "Run 3", "run 4"],
        ["9" * 59, "1" + "0" * 59],  # longer than any number a program counts with
    ],
)
def test_numbers_count_as_numbers(names: list[str]) -> None:
    """Whatever order they come in."""
    assert sorted(set(names), key=natural) == names


@given(st.data())
def test_one_order_for_the_same_names(data: st.DataObject) -> None:
    """No two different names are equal, so the order does not depend on where they came from."""
    names = data.draw(NAMES)
    shuffled = data.draw(st.permutations(names))

    assert sorted(names, key=natural) == sorted(shuffled, key=natural)


@given(st.text(st.characters(exclude_categories=["N"])), st.integers(0), st.integers(0))
def test_behind_one_name_the_smaller_number_comes_first(name: str, one: int, other: int) -> None:
    """R-6 before R-10, for every R."""
    assert (natural(f"{name}{one}") < natural(f"{name}{other}")) == (one < other)
