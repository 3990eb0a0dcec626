"""Says in which order two repairs are worked on when one is set up in the other's cure."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Worked:
    """A repair of a crew: what it is called, where it lies, in whose cure it is set up.

    Parameters
    ----------
    key, place : str
        Any names; two repairs with one `place` need no drive between them.
    beside : str
        The `key` of the repair in whose cure this one is set up, or empty.
    """

    key: str
    name: str
    place: str
    beside: str = ""


def chains_of(repairs: Iterable[Worked]) -> tuple[tuple[Worked, ...], ...]:
    """Return those that belong together, each set up beside the one before it.

    Repairs that stand alone are in no chain, and each repair is in one at most: of two
    in one cure the first given goes on with the chain.
    """
    given = {each.key: each for each in repairs}
    inner: dict[str, Worked] = {}
    for each in given.values():
        if each.beside in given:
            inner.setdefault(each.beside, each)
    chosen = {each.key for each in inner.values()}
    found = []
    for first in given.values():
        if first.key in chosen or first.key not in inner:
            continue
        chain = [first]
        while (after := inner.get(chain[-1].key)) is not None:
            chain.append(after)
        found.append(tuple(chain))
    return tuple(found)


def order_words(chain: Sequence[Worked]) -> str:
    """Return the crew's order of work, the drives between included.

    The third of a run is set up beside the second, once the first is finished: never are
    more than two live.
    """
    steps = [("set up", chain[0])]
    for outer, inner in itertools.pairwise(chain):
        steps += [("set up", inner), ("finish", outer)]
    steps.append(("finish", chain[-1]))
    words: list[str] = []
    seen: set[str] = set()
    at = chain[0].place
    for doing, each in steps:
        if each.place != at:
            words.append("drive back" if each.place in seen else "drive")
        seen.add(each.place)
        at = each.place
        words.append(f"{doing} {each.name}")
    order = ", ".join(words)
    return f"{order[0].upper()}{order[1:]}. Two packers: somebody stays with a live one."
