"""The order in which a crew works on two repairs with one live sleeve each."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.cure_order import Worked, chains_of, order_words

OUTER = Worked("1", "R-10", "A")
INNER = Worked("2", "R-11", "B", beside="1")


@st.composite
def days(draw: st.DrawFn) -> list[Worked]:
    """Draw a crew's repairs, each beside one before it or beside none, in any order."""
    found: list[Worked] = []
    for number in range(draw(st.integers(0, 6))):
        outer = draw(st.sampled_from(["", "gone", *(each.key for each in found)]))
        place = draw(st.sampled_from("AB"))
        found.append(Worked(str(number), f"R-{number}", place, outer))
    return draw(st.permutations(found))


def test_the_order_of_two() -> None:
    """Set up both, finish both, with the ways between; as docs/planning.md has it."""
    assert order_words((OUTER, INNER)) == (
        "Set up R-10, drive, set up R-11, drive back, finish R-10, drive back, finish R-11. "
        "Two packers: somebody stays with a live one."
    )


def test_in_one_place_nobody_drives() -> None:
    """Two sleeves from one manhole."""
    near = Worked("2", "R-11", "A", beside="1")

    assert "drive" not in order_words((OUTER, near))


@given(days())
def test_each_stands_in_one_chain_at_most_and_after_its_outer_one(day: list[Worked]) -> None:
    """A chain has two or more; whoever stands alone is in none."""
    chains = chains_of(day)

    inside = [each.key for chain in chains for each in chain]
    assert len(inside) == len(set(inside))
    for chain in chains:
        assert len(chain) > 1
        assert all(b.beside == a.key for a, b in itertools.pairwise(chain))
    known = {each.key for each in day}
    assert {each.beside for each in day if each.beside in known} <= set(inside)


@given(days())
def test_no_more_than_two_are_live_and_each_is_finished(day: list[Worked]) -> None:
    """Counted along the words: set up adds one, finish takes the oldest off."""
    for chain in chains_of(day):
        live: list[str] = []
        for step in order_words(chain).split(". ")[0].lower().split(", "):
            if step.startswith("set up "):
                live.append(step.removeprefix("set up "))
            elif step.startswith("finish "):
                assert live.pop(0) == step.removeprefix("finish ")
            assert len(live) <= 2
        assert not live
