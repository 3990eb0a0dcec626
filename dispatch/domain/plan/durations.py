"""How long the steps of a repair take, learned from how long they took.

A forecast is two quantiles of what was observed: what to expect, and a bound that is
seldom passed. It says on how many observations it rests and how alike those are: the same
crew, diameter and temperature at best, the contract's own number where nothing is known.

A cure is learned as the time *over* the hold of the maker's chart, which nothing learned
shortens.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from math import ceil

from dispatch.domain.plan.alike import RUNGS, Alike, Class, class_of


class Step(StrEnum):
    """A part of the day that takes time.

    Set-up lasts from the arrival to the mixing, working from there to the inflation, the
    cure from the start of the chart's clock to the deflation, the finish from there to the
    departure, and the travel from a departure to the next arrival.
    """

    SET_UP = "set-up"
    WORKING = "working"
    CURE = "cure"
    FINISH = "finish"
    TRAVEL = "travel"


class KeptOut(StrEnum):
    """Why an observation does not count."""

    TOO_SHORT = "too short to be true"
    TOO_LONG = "too long to be one piece of work"
    BELOW_THE_CHART = "shorter than the maker's chart"
    TOO_OLD = "too old"
    NOT_YET = "after the present"


_MIN_S, _HOUR_S = 60, 3600
BELIEVED_S: Mapping[Step, tuple[int, int]] = {
    Step.SET_UP: (5 * _MIN_S, 8 * _HOUR_S),
    Step.WORKING: (1 * _MIN_S, 4 * _HOUR_S),
    Step.CURE: (10 * _MIN_S, 48 * _HOUR_S),
    Step.FINISH: (2 * _MIN_S, 8 * _HOUR_S),
    Step.TRAVEL: (1 * _MIN_S, 4 * _HOUR_S),
}
"""Shortest and longest believed; common practice, no source. A double tap or a night between
two taps lies outside. The span is fixed, so that no observation decides about another."""


@dataclass(frozen=True, slots=True)
class Observation:
    """How long one step took once.

    Parameters
    ----------
    floor_s : float
        For a cure the hold of the chart at the declared temperature, else 0.
    wall_c : float or None
        The declared temperature of the wall, where it is known.
    at : datetime
        When the step ended, aware UTC.
    """

    step: Step
    seconds: float
    crew: str
    diameter_mm: float | None
    wall_c: float | None
    at: datetime
    floor_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Rules:
    """What counts, and which quantiles are asked for.

    `least` is ten because the 90 % of fewer than ten observations is their longest one. The
    other numbers are common practice, no source.
    """

    window: timedelta = timedelta(days=180)
    least: int = 10
    expected_percent: int = 50
    bound_percent: int = 90


@dataclass(frozen=True, slots=True)
class Usual:
    """What the contract says where too little was observed: seconds over the floor."""

    expected_s: float
    bound_s: float


@dataclass(frozen=True, slots=True)
class Asked:
    """Which step of which repair a forecast is for; `floor_s` is the chart's hold for a cure."""

    step: Step
    crew: str = ""
    diameter_mm: float | None = None
    wall_c: float | None = None
    floor_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Forecast:
    """How long a step will take, and what that rests on.

    Parameters
    ----------
    expected_s, bound_s : int
        Seconds; the bound is never below what is expected, neither is below the floor.
    count : int
        Observations it rests on; 0 for the contract's own number.
    alike : Alike
        What those have in common with the repair.
    """

    step: Step
    expected_s: int
    bound_s: int
    count: int
    alike: Alike


@dataclass(frozen=True)
class Learned:
    """What was observed, sorted by class once, so that a forecast costs a look-up.

    Parameters
    ----------
    over_s : mapping
        Step and class to the seconds over the floor, rising.
    kept_out : mapping
        Step and reason to how many observations did not count.
    """

    rules: Rules = field(default_factory=Rules)
    over_s: Mapping[tuple[Step, Class], Sequence[float]] = field(default_factory=dict)
    kept_out: Mapping[tuple[Step, KeptOut], int] = field(default_factory=dict)

    def forecast(self, asked: Asked, usual: Usual) -> Forecast:
        """Return the forecast from the most alike class that has observations enough.

        No weight is shared between classes: a blend is a length nobody observed, and the
        number of observations it rests on could not be told in one word.
        """
        for alike in RUNGS[asked.step.value]:
            name = class_of(alike, asked.crew, asked.diameter_mm, asked.wall_c)
            over_s = () if name is None else self.over_s.get((asked.step, name), ())
            if len(over_s) >= self.rules.least:
                expected_s = quantile(over_s, self.rules.expected_percent)
                bound_s = quantile(over_s, self.rules.bound_percent)
                return _over(asked, expected_s, bound_s, len(over_s), alike)
        return _over(asked, usual.expected_s, usual.bound_s, 0, Alike.CONTRACT)


def learn(
    observations: Iterable[Observation], *, now: datetime, rules: Rules | None = None
) -> Learned:
    """Sort observations into their classes; what does not count is counted by its reason."""
    asked = rules or Rules()
    over_s: dict[tuple[Step, Class], list[float]] = {}
    kept_out: Counter[tuple[Step, KeptOut]] = Counter()
    for each in observations:
        reason = why_kept_out(each, now=now, window=asked.window)
        if reason is not None:
            kept_out[each.step, reason] += 1
            continue
        for alike in RUNGS[each.step.value]:
            name = class_of(alike, each.crew, each.diameter_mm, each.wall_c)
            if name is not None:
                over_s.setdefault((each.step, name), []).append(each.seconds - each.floor_s)
    return Learned(asked, {key: sorted(found) for key, found in over_s.items()}, kept_out)


def why_kept_out(each: Observation, *, now: datetime, window: timedelta) -> KeptOut | None:
    """Return why an observation does not count, None where it does.

    A cure below the chart's hold is a breach, dealt with as a nonconformance. It is no
    example to plan by.
    """
    shortest_s, longest_s = BELIEVED_S[each.step]
    if each.at > now:
        return KeptOut.NOT_YET
    if each.at < now - window:
        return KeptOut.TOO_OLD
    if not each.seconds >= shortest_s:
        return KeptOut.TOO_SHORT
    if not each.seconds <= longest_s:
        return KeptOut.TOO_LONG
    if each.seconds < each.floor_s:
        return KeptOut.BELOW_THE_CHART
    return None


def quantile(rising: Sequence[float], percent: int) -> float:
    """Return the smallest observed value that at least `percent` of all do not exceed.

    Parameters
    ----------
    rising : sequence of float
        At least one value, sorted.
    percent : int
        1 to 100.

    Source
    ------
    Definition 1 of R. J. Hyndman and Y. Fan, Sample Quantiles in Statistical Packages, The
    American Statistician 50 (1996), the inverse of the empirical distribution function. It
    is always a length that was observed, and one more observation of just that length does
    not move it. The rank is counted in whole numbers, free of rounding.
    """
    return rising[-(-len(rising) * percent // 100) - 1]


def _over(asked: Asked, expected_s: float, bound_s: float, count: int, alike: Alike) -> Forecast:
    """Put seconds over the floor on the floor; what is learned is never negative."""
    expected = ceil(asked.floor_s + max(expected_s, 0.0))
    bound = max(expected, ceil(asked.floor_s + bound_s))
    return Forecast(asked.step, expected, bound, count, alike)
