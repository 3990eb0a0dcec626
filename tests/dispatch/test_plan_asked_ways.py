"""What a service of ways is asked, and what of its answer is believed."""

from collections.abc import Sequence
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.plan.asked_ways import (
    NotUnderstoodError,
    Question,
    even,
    questions,
    read_answer,
)
from dispatch.domain.plan.travel import LatLon, Way

A, B, C = LatLon(10.0, 20.0), LatLon(10.1, 20.0), LatLon(10.0, 20.1)
PAIR = Question((A, B), (A, B))

grid = st.builds(LatLon, st.sampled_from([10.0, 10.1, 10.2]), st.sampled_from([20.0, 20.1, 20.2]))
pairs = st.sets(st.tuples(grid, grid))


@given(st.lists(grid, max_size=9), pairs, st.integers(1, 30))
def test_all_that_is_not_known_is_asked(
    places: Sequence[LatLon], known: set[Any], most: int
) -> None:
    """Whatever is known: known and asked together are every way between different places."""
    asked = list(questions(places, known, most))
    told = {(s, d) for each in asked for s in each.sources for d in each.destinations}

    assert set(permutations(set(places), 2)) <= known | told


@given(st.lists(grid, max_size=9), pairs, st.integers(1, 30))
def test_no_table_is_larger_than_allowed(
    places: Sequence[LatLon], known: set[Any], most: int
) -> None:
    """Only a table of one row may be, since less than a row cannot be asked."""
    for each in questions(places, known, most):
        assert len(each.sources) * len(each.destinations) <= most or len(each.sources) == 1


@given(st.lists(grid, max_size=9))
def test_what_is_known_is_not_asked_again(places: Sequence[LatLon]) -> None:
    """Nothing is left to ask."""
    assert list(questions(places, set(permutations(set(places), 2)), 100)) == []


def test_a_newcomer_asks_his_way_to_all_and_all_ask_theirs_to_him() -> None:
    """Two small tables instead of the whole again."""
    known = {(A, B), (B, A)}

    assert list(questions([A, B, C], known, 100)) == [
        Question((C,), (A, B, C)),
        Question((A, B), (C,)),
    ]


def test_longitude_comes_first() -> None:
    """As in GeoJSON, RFC 7946, section 3.1.1: easting, then northing."""
    assert Question((A,), (B,)).as_json() == {
        "sources": [[20.0, 10.0]],
        "destinations": [[20, 10.1]],
    }


def answer(there: Any, long: Any = 9000) -> dict[str, Any]:
    """Return an answer with one way of interest, from A to B."""
    return {"durations": [[0, there], [700, 0]], "distances": [[0, long], [9000, 0]]}


@pytest.mark.parametrize(
    ("cell", "believed"),
    [
        (600, True),
        (600.4, True),
        (0, True),
        (10**6, True),
        (10**6 + 1, False),
        (-1, False),
        (float("nan"), False),
        (float("inf"), False),
        (None, False),
        ("600", False),
        (True, False),
        ([600], False),
    ],
)
def test_a_cell_that_is_no_way_is_left_out(cell: Any, *, believed: bool) -> None:
    """The way back is still there."""
    found = read_answer(answer(cell), PAIR)

    assert (found.get((A, B)) is not None) is believed
    assert found[B, A] == Way(700, 9000)


@pytest.mark.parametrize("long", [-1, None, float("nan"), 10**7 + 1])
def test_a_way_without_a_length_is_left_out(long: Any) -> None:
    """Minutes alone would be half an answer."""
    assert set(read_answer(answer(600, long), PAIR)) == {(B, A)}


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ([], "durations: expected 2 rows"),
        ({}, "durations: expected 2 rows"),
        ({"durations": [[0, 1]], "distances": [[0, 1]]}, "durations: expected 2 rows"),
        ({"durations": [[0, 1], [1]]}, "durations: expected 2 numbers in each row"),
        ({"durations": [[0, 1], "12"]}, "durations: expected 2 numbers in each row"),
        ({"durations": [[0, 1], [1, 0]]}, "distances: expected 2 rows"),
    ],
)
def test_a_table_of_another_size_is_not_understood(body: Any, words: str) -> None:
    """Nobody can say which cell is which."""
    with pytest.raises(NotUnderstoodError, match=words):
        read_answer(body, PAIR)


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=8,
)
two = {"min_size": 2, "max_size": 2}
square = st.lists(st.lists(json_values, **two) | json_values, **two)
tables = st.fixed_dictionaries({"durations": square, "distances": square | json_values})


@given(tables | json_values)
def test_any_json_is_read_or_not_understood(body: Any) -> None:
    """Nothing else happens, and what is read is a whole number of seconds and metres."""
    try:
        found = read_answer(body, PAIR)
    except NotUnderstoodError:
        return
    assert all(0 <= way.seconds <= 10**6 and 0 <= way.metres <= 10**7 for way in found.values())


@pytest.mark.parametrize(
    ("there", "back", "kept"), [(3001, 600, 0), (3000, 600, 2), (299, 1, 2), (301, 1, 0)]
)
def test_an_uneven_pair_is_not_believed(there: int, back: int, kept: int) -> None:
    """More than five times its way back, and more than five minutes."""
    ways = {(A, B): Way(there, 1), (B, A): Way(back, 1), (A, C): Way(9999, 1)}

    assert len(even(ways)) == kept + 1
