"""What was learned, laid out to be looked at: class by class, with how many it rests on."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from dispatch.domain.plan.durations import Learned, Step, quantile
from dispatch.domain.plan.travel import Estimate
from dispatch.domain.plan.travel_fit import Fit, fit
from dispatch.plan_facts.observed import RULES, observed
from dispatch.plan_facts.ways import estimate


@dataclass(frozen=True, slots=True)
class ClassLine:
    """One class of one step.

    Parameters
    ----------
    expected_s, bound_s : int or None
        Seconds; for a cure those over the maker's chart. None while there are too few
        observations: a wider class, or the contract, is planned with.
    """

    step: Step
    crew: str
    diameter: str
    temperature: str
    count: int
    expected_s: int | None
    bound_s: int | None

    @property
    def over_the_chart(self) -> bool:
        """Tell whether the seconds come on top of the chart's hold."""
        return self.step is Step.CURE


@dataclass(frozen=True, slots=True)
class Uncounted:
    """What did not count, and why."""

    step: str
    reason: str
    count: int


@dataclass(frozen=True, slots=True)
class LearnedTable:
    """All that was learned, all that did not count, and what drives suggest."""

    days: int
    least: int
    expected_percent: int
    bound_percent: int
    lines: tuple[ClassLine, ...]
    uncounted: tuple[Uncounted, ...]
    trips: int
    travel_set: Estimate
    travel_fit: Fit | None


def learned_table(*, now: datetime) -> LearnedTable:
    """Return what was learned in the months before `now`."""
    found = observed(now=now)
    kept_out = Counter(
        {(step.value, reason.value): n for (step, reason), n in found.learned.kept_out.items()}
    )
    kept_out.update({("", reason.value): n for reason, n in found.left_out.items()})
    set_now = estimate()
    return LearnedTable(
        days=RULES.window.days,
        least=RULES.least,
        expected_percent=RULES.expected_percent,
        bound_percent=RULES.bound_percent,
        lines=class_lines(found.learned),
        uncounted=tuple(Uncounted(*key, n) for key, n in sorted(kept_out.items())),
        trips=len(found.trips),
        travel_set=set_now,
        travel_fit=fit(found.trips, set_now),
    )


def class_lines(learned: Learned) -> tuple[ClassLine, ...]:
    """Return each class anything was observed of, the widest of a step first."""
    order = {step: place for place, step in enumerate(Step)}
    keys = sorted(learned.over_s, key=lambda key: (order[key[0]], key[1]))
    return tuple(
        ClassLine(
            step,
            *name,
            count=len(learned.over_s[step, name]),
            expected_s=_of(learned, (step, name), learned.rules.expected_percent),
            bound_s=_of(learned, (step, name), learned.rules.bound_percent),
        )
        for step, name in keys
    )


def _of(learned: Learned, key: tuple[Step, tuple[str, str, str]], percent: int) -> int | None:
    over_s = learned.over_s[key]
    return None if len(over_s) < learned.rules.least else round(quantile(over_s, percent))
