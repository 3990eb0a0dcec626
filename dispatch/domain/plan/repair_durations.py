"""The times a plan reckons with at one repair, put together from the forecasts of its steps."""

from collections.abc import Mapping
from dataclasses import dataclass

from dispatch.domain.plan.durations import Asked, Forecast, Learned, Step, Usual


@dataclass(frozen=True, slots=True)
class Work:
    """What is known of a repair before anybody goes there.

    Parameters
    ----------
    crew : str
        The crew's code where it is known, else empty: then any crew counts.
    hold_s : float
        The hold of the maker's chart at the temperature to plan with.
    working_s : float
        The working time of the prescription, all of which is planned for until it is learned.
    clock_from_mixing : bool
        Whether the chart counts from the mixing: then the cure begins with the working.
    """

    diameter_mm: float
    hold_s: float
    working_s: float
    crew: str = ""
    wall_c: float | None = None
    sleeves: int = 1
    clock_from_mixing: bool = False


@dataclass(frozen=True, slots=True)
class ContractTimes:
    """What the contract reckons with before anything was observed, in seconds.

    `cure_margin_s` is for the bound of the cure, over the chart's hold.
    """

    setup_s: float
    finish_s: float
    cure_margin_s: float


@dataclass(frozen=True, slots=True)
class RepairDurations:
    """What a plan needs of a repair, in seconds, and the forecasts it was put together from.

    Parameters
    ----------
    cure_s, cure_bound_s : int
        From the first sleeve's clock to the last deflation. Never below the chart's hold of
        every sleeve.
    """

    setup_s: int
    cure_s: int
    cure_bound_s: int
    finish_s: int
    forecasts: Mapping[Step, Forecast]


def repair_durations(learned: Learned, work: Work, contract: ContractTimes) -> RepairDurations:
    """Put the forecasts of a repair's steps together.

    Several sleeves are set one after another with one packer: working and cure again for
    each. A bound of the sum from the sum of bounds is on the long side; a plan that keeps
    too much free is late less often.
    """
    usual = {
        Step.SET_UP: Usual(contract.setup_s, contract.setup_s),
        Step.WORKING: Usual(work.working_s, work.working_s),
        Step.CURE: Usual(0.0, contract.cure_margin_s),
        Step.FINISH: Usual(contract.finish_s, contract.finish_s),
    }
    found = {
        step: learned.forecast(
            Asked(
                step,
                work.crew,
                work.diameter_mm,
                work.wall_c,
                work.hold_s if step is Step.CURE else 0.0,
            ),
            usual[step],
        )
        for step in usual
    }
    working, cure = found[Step.WORKING], found[Step.CURE]
    before_s = 0 if work.clock_from_mixing else working.expected_s
    again = work.sleeves - 1
    between_s = 0 if work.clock_from_mixing else working.bound_s
    return RepairDurations(
        setup_s=found[Step.SET_UP].expected_s + before_s,
        cure_s=work.sleeves * cure.expected_s + again * before_s,
        cure_bound_s=work.sleeves * cure.bound_s + again * between_s,
        finish_s=found[Step.FINISH].expected_s,
        forecasts=found,
    )
