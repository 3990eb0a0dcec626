"""Steps that may not be passed before something was verified, and who passed one.

The tool never stops a crew from reporting. It shows the hold point ahead, and a
hold point that was passed opens a nonconformance, which is withdrawn when late
facts show that all was well.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from qa.domain.air_readings import outside_the_limits
from qa.domain.event_words import kind_words
from qa.domain.repair_facts import RepairFacts
from qa.domain.requirement import RULES, judge
from qa.domain.verdict import Outcome, Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.cure_clock import CureEstimate, CureStatus, cure_clock
from repairs.domain.event_order import is_from_the_future
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress
from repairs.domain.working_time import working_time

CLOCK_AHEAD = "event_from_the_future"
"""Code of the breach of `from_the_future`."""

BAD_AIR = "air_readings"
"""Code of the breach of `bad_air`."""

HOLD_POINTS: Mapping[EventKind, tuple[str, ...]] = {
    EventKind.DRY_RUN_DONE: ("pipe_ready", "distances_agree"),
    EventKind.MIXING_STARTED: (
        "prescription_current",
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
"""Before this step: these requirements, whatever the contract asks to be proved."""

OF_THE_CONTRACT: Mapping[EventKind, tuple[str, ...]] = {
    EventKind.ARRIVED: ("residents_notified",),
    EventKind.DRY_RUN_DONE: ("right_pipe",),
    EventKind.DEFLATED: ("cured_sample_hard",),
}
"""Before this step too, where the contract asks for it."""

_NEEDS_THE_STEP_ITSELF = frozenset(
    {
        "lots_traceable",
        "working_time_kept",
        "cured_before_deflation",
        "cured_sample_hard",
        "flow_restored",
    }
)
"""Judged with the step's own data, so they can only be judged once it is reported."""

_TO_DO_FIRST = {
    "flow_restored": ("to be done before leaving", "restore the flow, open the connections"),
    "cured_sample_hard": (
        "to be looked at before deflating",
        "feel the left-over sample with gloves on first",
    ),
}


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


def ahead(facts: RepairFacts, now: datetime) -> tuple[HoldPoint, ...]:
    """Return the hold points of steps not yet reported, in the order of the work."""
    return tuple(
        HoldPoint(step, code, RULES[code][0], _as_seen_before(code, facts, now))
        for step in EventKind
        if facts.progress.event(step) is None
        for code in guarding(step, facts)
    )


def guarding(step: EventKind, facts: RepairFacts) -> tuple[str, ...]:
    """Return the requirements that must be met before a step."""
    asked = tuple(code for code in OF_THE_CONTRACT.get(step, ()) if code in facts.asked)
    return asked + HOLD_POINTS.get(step, ())


def _as_seen_before(code: str, facts: RepairFacts, now: datetime) -> Verdict:
    """Judge a requirement before its step: what can be said then, not 'report the step'."""
    if code == "cured_before_deflation" and facts.cure_inputs is not None:
        return _hold(cure_clock(facts.cure_inputs, now))
    if code == "working_time_kept" and facts.working_inputs is not None:
        deadline = working_time(facts.working_inputs, now).deadline_early
        if deadline is not None:
            return incomplete("the working time runs", f"inflate before {_clock(deadline)}")
    if code == "lots_traceable":
        return _loaded_lot(facts)
    if code in _TO_DO_FIRST:
        return incomplete(*_TO_DO_FIRST[code])
    if code == "residents_notified" and facts.progress.event(EventKind.RESIDENTS_NOTIFIED):
        return met("residents were notified; the time is judged with the arrival")
    return judge(code, facts)


def _hold(clock: CureEstimate) -> Verdict:
    if clock.status is CureStatus.NOT_STARTED:
        return incomplete("the cure has not begun", "inflate, then read the wall temperature")
    if clock.hold_until is None:
        return cannot_tell(
            "when the cure is complete cannot be told", "keep the pressure, read the wall"
        )
    if clock.status is CureStatus.COMPLETE:
        return met("the hold is over; check the cured sample first")
    return incomplete(
        f"hold until {_clock(clock.hold_until)}", "keep the pressure; a colder wall moves it later"
    )


def _loaded_lot(facts: RepairFacts) -> Verdict:
    loaded = facts.progress.event(EventKind.LOADED_OUT)
    lot = None if loaded is None else facts.lots.get(str(loaded.data.get("kit_lot", "")))
    if lot is None:
        return incomplete("no known kit lot was named at load-out", "read the lot off the kit")
    if lot.expires_on < facts.work_date:
        return not_met(f"lot {lot.number} expired on {lot.expires_on}", "take another kit")
    return met(f"lot {lot.number} is in date until {lot.expires_on}")


def _clock(at: datetime) -> str:
    return at.isoformat(timespec="minutes")


def breaches(facts: RepairFacts) -> tuple[Breach, ...]:
    """Return every hold point that was passed although it was not in order."""
    found = []
    # Nobody had to know in the street what the client would say of it later.
    then = replace(facts, returned=None)
    for step in EventKind:
        if facts.progress.event(step) is None:
            continue
        for code in guarding(step, facts):
            verdict = judge(code, then)
            if verdict.outcome is Outcome.NOT_MET or _missing(code, verdict):
                words = f"{step.value.replace('_', ' ')} was reported although {verdict.reason}"
                found.append(Breach(code, words))
    found += [each for each in (from_the_future(facts.progress), bad_air(facts.progress)) if each]
    return tuple(found)


def bad_air(progress: Progress) -> Breach | None:
    """Return the breach when somebody enters although a reading lies outside the usual limits."""
    safe = progress.event(EventKind.MADE_SAFE)
    if safe is None or safe.data.get("entry_planned") is not True:
        return None
    outside = outside_the_limits(safe.data)
    if not outside:
        return None
    words = f"entry was planned with {', '.join(outside)}. Stay out; permit and local code decide"
    return Breach(BAD_AIR, words)


def from_the_future(progress: Progress) -> Breach | None:
    """Return the breach when a step is said to have happened after it was received.

    It is stored all the same, but whatever is judged by its time rests on a
    clock that cannot be right.
    """
    ahead_of_us = [kind_words(step.kind) for step in progress.steps if is_from_the_future(step)]
    if not ahead_of_us:
        return None
    kinds = ", ".join(dict.fromkeys(ahead_of_us))
    words = f"said to have happened after it was received: {kinds}. The device's clock is wrong"
    return Breach(CLOCK_AHEAD, words)


def _missing(code: str, verdict: Verdict) -> bool:
    waits = code in _NEEDS_THE_STEP_ITSELF or verdict.pending
    return verdict.outcome is Outcome.INCOMPLETE and not waits
