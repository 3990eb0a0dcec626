"""Steps that may not be passed before something was verified, and who passed one.

The tool never stops a crew from reporting. It shows the hold point ahead, and a
hold point that was passed opens a nonconformance, which is withdrawn when late
facts show that all was well.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import RULES
from qa.domain.verdict import Outcome, Verdict
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress

CLOCK_AHEAD = "event_from_the_future"
"""Code of the breach of `from_the_future`."""

HOLD_POINTS: Mapping[EventKind, tuple[str, ...]] = {
    EventKind.DRY_RUN_DONE: ("distances_agree",),
    EventKind.MIXING_STARTED: (
        "dry_run_and_new_film",
        "hold_test",
        "packer_in_test",
        "lots_traceable",
    ),
    EventKind.PLACED: ("wet_out_saturated",),
    EventKind.INFLATED: ("working_time_kept", "sleeve_covers_defect"),
    EventKind.DEFLATED: ("cured_before_deflation",),
    EventKind.LEFT: ("post_repair_film", "flow_restored"),
}
"""Before this step: these requirements."""

_NEEDS_THE_STEP_ITSELF = frozenset(
    {"lots_traceable", "working_time_kept", "cured_before_deflation", "flow_restored"}
)
"""Judged with the step's own data, so they can only be judged once it is reported."""


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """A hold point still ahead: before `step`, `requirement` must be met; now it is `verdict`."""

    step: EventKind
    requirement: str
    title: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Breach:
    """A hold point that was passed: its stable code and what was not in order."""

    code: str
    words: str


def ahead(facts: RepairFacts) -> tuple[HoldPoint, ...]:
    """Return the hold points of steps not yet reported, in the order of the work."""
    return tuple(
        HoldPoint(step, code, RULES[code][0], RULES[code][1](facts))
        for step, codes in HOLD_POINTS.items()
        if facts.progress.event(step) is None
        for code in codes
    )


def breaches(facts: RepairFacts) -> tuple[Breach, ...]:
    """Return every hold point that was passed although it was not in order."""
    found = []
    for step, codes in HOLD_POINTS.items():
        if facts.progress.event(step) is None:
            continue
        for code in codes:
            verdict = RULES[code][1](facts)
            if verdict.outcome is Outcome.NOT_MET or _missing(code, verdict):
                words = f"{step.value.replace('_', ' ')} was reported although {verdict.reason}"
                found.append(Breach(code, words))
    ahead_of_us = from_the_future(facts.progress)
    return (*found, ahead_of_us) if ahead_of_us else tuple(found)


def from_the_future(progress: Progress) -> Breach | None:
    """Return the breach when a step is said to have happened after it was received.

    It is stored all the same, but whatever is judged by its time rests on a
    clock that cannot be right.
    """
    ahead_of_us = [
        step.kind.value.replace("_", " ")
        for step in progress.steps
        if moment_of(step).earliest > step.received_at
    ]
    if not ahead_of_us:
        return None
    kinds = ", ".join(dict.fromkeys(ahead_of_us))
    words = f"said to have happened after it was received: {kinds}. The device's clock is wrong"
    return Breach(CLOCK_AHEAD, words)


def _missing(code: str, verdict: Verdict) -> bool:
    waits = code in _NEEDS_THE_STEP_ITSELF or verdict.pending
    return verdict.outcome is Outcome.INCOMPLETE and not waits
