"""What is to be planned: crew-days, repairs, the ways between them, and the prices.

Times are whole seconds from the problem's `origin` (an aware instant, midnight of day 0
where the crews are); `day` counts from there. Whoever builds a problem turns instants
into seconds once; nothing inside asks a clock.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from dispatch.domain.plan.travel import Travel
from dispatch.domain.plan.weights import Priority, Weights


@dataclass(frozen=True, slots=True)
class Window:
    """When work is allowed: all of it, from set-up to finish, lies inside."""

    opens_s: int
    closes_s: int


@dataclass(frozen=True, slots=True)
class Lunch:
    """When lunch may begin, how long it is, and whether it may be taken beside a curing sleeve.

    `in_cure` is the contract's and the safety plan's word: somebody stays with a live packer.
    """

    earliest_s: int
    latest_s: int
    length_s: int
    in_cure: bool = True


@dataclass(frozen=True, slots=True)
class Overlap:
    """What contract and safety plan allow beside a curing sleeve: setting up the next repair.

    Holding a sleeve under pressure longer than its cure is within the maker's chart; shorter
    never is. Which packer goes where is seen from the crew's packers: each live one has its own.

    Parameters
    ----------
    most_drive_s : int
        How far away, one way, whoever stays with the live packer may be left.
    most_wait_s : int
        How long a sleeve may be held beyond its longest cure before it is finished.
    people_enough : bool
        Whether the crew is large enough that somebody stays with each live packer.
    loggers : int
        How many cures the crew can log at once.

    Raises
    ------
    ValueError
        When a number is below 0.
    """

    most_drive_s: int
    most_wait_s: int
    people_enough: bool = True
    loggers: int = 2

    def __post_init__(self) -> None:
        if min(self.most_drive_s, self.most_wait_s, self.loggers) < 0:
            raise ValueError("most_drive_s, most_wait_s and loggers may not be below 0")

    @property
    def is_allowed(self) -> bool:
        """Return whether the crew may do it at all."""
        return self.people_enough and self.loggers >= 2  # noqa: PLR2004 -- one for each live packer


@dataclass(frozen=True, slots=True)
class PackerRange:
    """A packer that may be used on the day: its diameters, longest sleeve and highest pressure."""

    diameter_min_mm: float
    diameter_max_mm: float
    length_m: float | None = None
    limit_kpa: float | None = None


@dataclass(frozen=True, slots=True)
class CrewDay:
    """One crew on one day.

    Parameters
    ----------
    overtime_s : int
        The most overtime after `ends_s`.
    start_place, end_place : int
        Places of the travel table: a yard, or where the crew is right now.
    qualifications : frozenset of str
        Those in date on this day.
    packers : tuple of PackerRange
        Those whose test is in date on this day; two that serve make a second packer.
    kits : mapping
        What the truck carries that morning, by kit code.
    overlap : Overlap or None
        Whether the next repair may be set up during a cure; None is never.
    """

    ref: str
    crew: str
    day: int
    starts_s: int
    ends_s: int
    overtime_s: int
    start_place: int
    end_place: int
    lunch: Lunch | None = None
    qualifications: frozenset[str] = frozenset()
    packers: tuple[PackerRange, ...] = ()
    kits: Mapping[str, int] = field(default_factory=dict)
    overlap: Overlap | None = None

    @property
    def last_back_s(self) -> int:
        """Return when the crew must be back, overtime included."""
        return self.ends_s + self.overtime_s


@dataclass(frozen=True, slots=True)
class PlannedRepair:
    """A repair that wants a place in the plan.

    Parameters
    ----------
    setup_s, cure_s, finish_s : int
        Set-up with preparation and working, the cure expected at the forecast
        temperature, and taking down.
    cure_bound_s : int
        The longest cure to reckon with: the plan keeps this much free.
    windows : tuple of Window
        When work is allowed, earliest first; empty is never.
    due_day : int or None
        Done on a later day it is late; below 0 it is late already.
    pinned_crew, pinned_day : str, int or None
        The dispatcher's own word.
    locked_to : str or None
        The crew-day it may not leave, since somebody was promised it.
    pressure_kpa : float
        The highest that the prescription allows: the packer must take all of it.
    """

    ref: str
    place: int
    setup_s: int
    cure_s: int
    cure_bound_s: int
    finish_s: int
    windows: tuple[Window, ...]
    priority: Priority
    due_day: int | None = None
    qualifications: frozenset[str] = frozenset()
    diameter_mm: float = 0.0
    sleeve_length_m: float = 0.0
    kit_code: str = ""
    kits_needed: int = 0
    pinned_crew: str | None = None
    pinned_day: int | None = None
    locked_to: str | None = None
    pressure_kpa: float = 0.0

    @property
    def on_site_s(self) -> int:
        """Return how long the crew is there, the cure at its bound."""
        return self.setup_s + self.cure_bound_s + self.finish_s

    @property
    def is_pinned(self) -> bool:
        """Return whether somebody decided already where it belongs."""
        return not (self.pinned_crew is None and self.pinned_day is None and self.locked_to is None)


@dataclass(frozen=True, slots=True)
class Promise:
    """What was told before: this crew, that day."""

    crew: str
    day: int


@dataclass(frozen=True)
class Problem:
    """A horizon to plan.

    Parameters
    ----------
    stock : mapping
        (crew, kit code) to the most kits of all its days together, for a truck that is
        not filled up every night; a pair that is missing has no such limit.
    promised : mapping
        Repair to what was promised for it.
    """

    origin: datetime
    days: int
    travel: Travel
    crew_days: tuple[CrewDay, ...]
    repairs: tuple[PlannedRepair, ...]
    weights: Weights = field(default_factory=Weights)
    stock: Mapping[tuple[str, str], int] = field(default_factory=dict)
    promised: Mapping[str, Promise] = field(default_factory=dict)

    @cached_property
    def repair(self) -> Mapping[str, PlannedRepair]:
        """Return the repairs by reference."""
        return {each.ref: each for each in self.repairs}

    @cached_property
    def crew_day(self) -> Mapping[str, CrewDay]:
        """Return the crew-days by reference."""
        return {each.ref: each for each in self.crew_days}
