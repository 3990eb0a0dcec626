"""A route that can be done, as its bare clock."""

from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class LunchTaken:
    """When lunch begins, and where: in a cure, while waiting, or in a break of its own."""

    starts_s: int
    where: str


LUNCH = -1
"""Stands for a stop in a visit that is a meal."""


class Visit(NamedTuple):
    """Being at a place to set up a stop, to finish it, or to eat (stop `LUNCH`)."""

    stop: int
    sets_up: bool
    place: int
    length_s: int


class Driven(NamedTuple):
    """A route that can be done: its clock without the words.

    `beside` holds the indices of the stops that are set up while the stop before them cures;
    then `visits` holds the order of set-ups and finishes.
    """

    arrivals_s: tuple[int, ...]
    starts_s: tuple[int, ...]
    ends_s: tuple[int, ...]
    back_s: int
    travel_s: int
    overtime_s: int
    lunch: LunchTaken | None
    beside: frozenset[int] = frozenset()
    visits: tuple[Visit, ...] = ()
