"""Working time, pressure and cure: what cannot be seen afterwards."""

from collections.abc import Callable, Mapping
from datetime import datetime

from qa.domain.pressure_log import WindowVerdict, judge_window
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.clocks import cure_start
from repairs.domain.cure_clock import (
    CureEstimate,
    DeflationStatus,
    cure_clock,
    judge_deflation,
)
from repairs.domain.event_order import comparable, moment_of
from repairs.domain.field_event import EventKind
from repairs.domain.temperature_log import FLAG_WORDS
from repairs.domain.working_time import WorkingStatus, judge_inflation, working_time

_PRESSURE_ANSWERS: Mapping[WindowVerdict, tuple[Callable[..., Verdict], str]] = {
    WindowVerdict.FAIL: (not_met, "rework, or a waiver by the client"),
    WindowVerdict.INCOMPLETE: (incomplete, "hand in the missing part of the log"),
    WindowVerdict.CANNOT_TELL: (cannot_tell, "a reviewer decides"),
}


def working_time_kept(facts: RepairFacts) -> Verdict:
    """The sleeve was under pressure before the resin's working time was over."""
    inflated = facts.moment(EventKind.INFLATED)
    if facts.working_inputs is None or facts.working_inputs.started_at is None:
        return incomplete("the start of the working time has not been reported", "report mixing")
    if inflated is None:
        return incomplete("no inflation has been reported", "report the inflation")
    mixing = facts.progress.latest.get(EventKind.MIXING_STARTED)
    if mixing is not None and not comparable(mixing, facts.progress.latest[EventKind.INFLATED]):
        return cannot_tell(
            "mixing and inflation come from devices whose clocks were not compared",
            "a reviewer decides",
        )
    status = judge_inflation(facts.working_inputs, inflated.latest)
    estimate = working_time(facts.working_inputs, inflated.latest)
    used = (inflated.best - facts.working_inputs.started_at).total_seconds() / 60
    numbers = {"minutes_used": round(used, 1), "share_used_high": round(estimate.used_high, 3)}
    if status is WorkingStatus.OK:
        return met(f"inflated {used:.0f} min after mixing, inside the working time", **numbers)
    if status is WorkingStatus.OVER:
        return not_met(
            f"inflated {used:.0f} min after mixing: the working time was over",
            "the client decides; the resin may have gelled before it was pressed on",
            **numbers,
        )
    return cannot_tell(
        f"inflated {used:.0f} min after mixing: too near the end of the working time to tell",
        "a reviewer decides with the resin temperature at hand",
        **numbers,
    )


def cure_pressure_held(facts: RepairFacts) -> Verdict:
    """The pressure log covers the whole cure and lies inside the window."""
    inflated = facts.moment(EventKind.INFLATED)
    deflated = facts.moment(EventKind.DEFLATED)
    if facts.pressure is None:
        return incomplete("no readable pressure log has been handed in", "upload the pressure log")
    if facts.prescribed is None:
        return incomplete("there is no prescription", "calculate one")
    if inflated is None or deflated is None:
        missing = "inflation" if inflated is None else "deflation"
        return incomplete("the cure is not over", f"report the {missing}")
    if (lost := _let_go_between(facts)) is not None:
        return lost
    limits = facts.limits
    start_s = inflated.best.timestamp() + limits.pressure_gap_s
    judged = judge_window(
        times_s=facts.pressure.times_s,
        pressures_kpa=facts.pressure.pressures_kpa,
        # Filling up and letting go take a moment each; the log's own longest
        # silence is the contract's word for how long a moment may be.
        start_s=start_s,
        end_s=max(deflated.best.timestamp() - limits.pressure_gap_s, start_s + 1),
        low_kpa=facts.prescribed.low_kpa,
        high_kpa=facts.prescribed.high_kpa,
        gauge_accuracy_kpa=limits.gauge_accuracy_kpa,
        longest_gap_s=limits.pressure_gap_s,
        required_coverage=limits.pressure_coverage,
    )
    numbers = {
        "coverage": round(judged.coverage, 4),
        "lowest_kpa": judged.lowest_kpa,
        "highest_kpa": judged.highest_kpa,
        "low_kpa": facts.prescribed.low_kpa,
        "high_kpa": facts.prescribed.high_kpa,
    }
    told = {name: value for name, value in numbers.items() if value is not None}
    reason = judged.reason
    if facts.pressure.to_ask:
        # Questions, never accusations: they stand beside the verdict and do not move it.
        reason = f"{reason.rstrip('.')}. To ask the crew: {' '.join(facts.pressure.to_ask)}"
    if judged.verdict is WindowVerdict.PASSED:
        return met(reason, evidence=facts.pressure.evidence, **told)
    answer, settle = _PRESSURE_ANSWERS[judged.verdict]
    return answer(reason, settle, evidence=facts.pressure.evidence, **told)


def _let_go_between(facts: RepairFacts) -> Verdict | None:
    """Say so when a sleeve was let go and pressed on again: its pressure was lost once."""
    mixing = facts.moment(EventKind.MIXING_STARTED)
    inflated = facts.moment(EventKind.INFLATED)
    for event in facts.progress.all_of(EventKind.DEFLATED):
        at = moment_of(event).best
        if mixing is not None and inflated is not None and mixing.best < at < inflated.best:
            return not_met(
                f"deflated at {at.isoformat(timespec='seconds')} and inflated again: "
                "the pressure was lost",
                "rework, or a waiver by the client",
                deflated=at.isoformat(timespec="seconds"),
            )
    return None


def cured_before_deflation(facts: RepairFacts) -> Verdict:
    """The packer stayed under pressure until the cure was complete."""
    deflated = facts.moment(EventKind.DEFLATED)
    if facts.cure_inputs is None or facts.cure_inputs.started_at is None:
        return incomplete("the start of the cure has not been reported", "report the inflation")
    if deflated is None:
        return incomplete("no deflation has been reported", "report the deflation")
    estimate = cure_clock(facts.cure_inputs, deflated.earliest)
    hold = estimate.hold_until
    numbers = {"deflated": deflated.best.isoformat(timespec="seconds")}
    if hold is not None:
        numbers["hold_until"] = hold.isoformat(timespec="seconds")
    if doubt := _doubt(estimate.flags) or _clocks_apart(facts):
        return cannot_tell(doubt, "a reviewer decides with the log and the cured sample", **numbers)
    if judge_deflation(facts.cure_inputs, deflated.latest) is DeflationStatus.TOO_EARLY:
        return not_met(
            _too_early_words(facts, estimate, deflated.best),
            "the client decides; check the cured sample",
            **numbers,
        )
    if "declared_only" in estimate.flags:
        # A declared temperature is a promise, not a record: a wall that cooled
        # unseen would close a repair that never cured.
        return incomplete(
            "no pipe-wall temperature was logged during the cure",
            "hand in the readings or the logger's file",
            **numbers,
        )
    if judge_deflation(facts.cure_inputs, deflated.earliest) is DeflationStatus.HELD:
        spare = (deflated.best - hold).total_seconds() / 60 if hold else 0.0
        return met(f"deflated {spare:.0f} min after the hold was over", **numbers)
    told = [FLAG_WORDS.get(flag, flag) for flag in estimate.flags]
    why = f": {' '.join(told)}" if told else ""
    return cannot_tell(
        f"whether the cure was complete at deflation cannot be told{why}",
        "a reviewer decides with the cured sample and the temperatures at hand",
        **numbers,
    )


def _clocks_apart(facts: RepairFacts) -> str:
    """Return why the time between start and deflation cannot be told, or nothing."""
    deflated = facts.progress.event(EventKind.DEFLATED)
    start = None
    if facts.prescribed is not None:
        start = cure_start(facts.progress, facts.prescribed.basis)
    if start is None or deflated is None or comparable(start, deflated):
        return ""
    return (
        f"{start.device} and {deflated.device} told start and deflation, and their clocks were "
        "not compared"
    )


def _doubt(flags: tuple[str, ...]) -> str:
    """Return why a computed cure cannot be believed, or nothing."""
    doubts = [FLAG_WORDS[flag] for flag in ("declared_differs", "implausible") if flag in flags]
    return " ".join(doubts)


def _too_early_words(facts: RepairFacts, estimate: CureEstimate, deflated: datetime) -> str:
    started = facts.cure_inputs.started_at if facts.cure_inputs else None
    if estimate.hold_until is not None:
        early = (estimate.hold_until - deflated).total_seconds() / 60
        return f"deflated {early:.0f} min before the hold was over"
    held = (deflated - started).total_seconds() / 60 if started else 0.0
    needed = f"{estimate.static_minutes:.0f} min" if estimate.static_minutes else "longer"
    return f"deflated after {held:.0f} min, the chart asks for {needed}"
