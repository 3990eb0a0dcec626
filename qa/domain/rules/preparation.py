"""Dry run, fresh film, hold test, packer, lots and masses: what is right before mixing."""

from datetime import timedelta

from qa.domain.hold_readings import HoldReading, HoldTestInputs
from qa.domain.hold_test import judge_hold_test
from qa.domain.repair_facts import RepairFacts
from qa.domain.verdict import Verdict, cannot_tell, incomplete, met, not_met
from repairs.domain.event_order import moment_of, starts_after
from repairs.domain.field_event import EventKind

_ROUNDING = 1e-9
"""A mass just at the tolerance must not fail by the rounding of a quotient."""


def prescription_current(facts: RepairFacts) -> Verdict:
    """The prescription the crew carries was calculated from the order as it stands."""
    if facts.prescribed is None:
        return incomplete("there is no prescription", "calculate one")
    if facts.order_changed_since:
        return not_met(
            "the order was corrected after this prescription was calculated",
            "cancel, prescribe again, assign again; do not mix before",
        )
    return met("calculated from the order as it stands")


def pipe_ready(facts: RepairFacts) -> Verdict:
    """The pipe is clean, has no sharp edges, and lets the sleeve pass."""
    seen = facts.progress.event(EventKind.INSPECTED)
    if seen is None:
        return incomplete("no inspection has been reported", "report the inspection")
    wrong = [
        words
        for name, wanted, words in (
            ("clean", True, "the pipe is not clean"),
            ("sharp_edges", False, "there are sharp edges"),
            ("standing_debris", False, "debris stands in the pipe"),
            ("sleeve_can_pass", True, "the sleeve cannot pass"),
        )
        if seen.data.get(name) is not None and seen.data[name] is not wanted
    ]
    if wrong:
        return not_met("; ".join(wrong), "mend it, look again, and report the inspection again")
    return met("clean, no sharp edges")


def dry_run_and_new_film(facts: RepairFacts) -> Verdict:
    """The packer reached the mark dry; then the film was changed, whatever it looked like."""
    run = facts.progress.event(EventKind.DRY_RUN_DONE)
    film = facts.progress.event(EventKind.FILM_CHANGED)
    if run is None:
        return incomplete("no dry run has been reported", "report the dry run")
    if run.data.get("reached_mark") is not True:
        return not_met("the dry run did not reach the mark", "clear the way and repeat the dry run")
    if film is None:
        return incomplete("no film change has been reported", "put on a new film and report it")
    if starts_after(moment_of(film), moment_of(run)) is False:
        return not_met("the film was changed before the dry run", "put on a new film")
    return _before_mixing(
        facts, EventKind.FILM_CHANGED, "dry run reached the mark, then a new film"
    )


def hold_test(facts: RepairFacts) -> Verdict:
    """The packer held the repair pressure without leaking."""
    event = facts.progress.event(EventKind.HOLD_TEST_DONE)
    if event is None:
        return incomplete("no hold test has been reported", "test the packer and report it")
    if event.data.get("fully_round") is not True:
        words = "the packer was not fully round"
        return (
            incomplete("whether the packer was fully round has not been reported", "report it")
            if event.data.get("fully_round") is None
            else not_met(words, "replace the packer and test again")
        )
    judged = judge_hold_test(_hold_inputs(facts))
    answers = {"leaks": not_met, "cannot_tell": cannot_tell, "incomplete": incomplete}
    if judged.result.value in answers:
        settle = "test again, longer or with a finer gauge; replace a leaking packer"
        return answers[judged.result.value](judged.reason, settle)
    return _before_mixing(facts, EventKind.HOLD_TEST_DONE, judged.reason)


def packer_fits_and_in_test(facts: RepairFacts) -> Verdict:
    """The packer is made for the bore and its own test is not overdue."""
    serial = _packer_serial(facts)
    if serial is None:
        return incomplete("no packer has been named", "name it with the load-out or the hold test")
    packer = facts.packers.get(serial)
    if packer is None:
        return cannot_tell(
            f"packer {serial} is not on the equipment list", "add it with its range and test date"
        )
    if not packer.diameter_min_mm <= facts.diameter_mm <= packer.diameter_max_mm:
        return not_met(
            f"packer {serial} serves {packer.diameter_min_mm:g} to {packer.diameter_max_mm:g} mm, "
            f"the pipe has {facts.diameter_mm:g} mm",
            "repair again with a packer that fits, or ask the client",
        )
    if packer.test_due_on < facts.work_date:
        return not_met(
            f"packer {serial} was due for its test on {packer.test_due_on}",
            "have it tested; the client decides on this repair",
        )
    return met(f"packer {serial} fits and is in test until {packer.test_due_on}")


def lots_traceable(facts: RepairFacts) -> Verdict:
    """Kit and resin lots are known, belong together, and were in date on the day of use."""
    mixing = facts.progress.event(EventKind.MIXING_STARTED)
    if mixing is None:
        return incomplete("no mixing has been reported", "report mixing with the lot numbers")
    number = str(mixing.data["kit_lot"])
    lot = facts.lots.get(number)
    if lot is None:
        return cannot_tell(f"lot {number} is not in the stock list", "add the lot with its expiry")
    numbers = {"kit_lot": number, "expires_on": lot.expires_on, "used_on": facts.work_date}
    if lot.expires_on < facts.work_date:
        days = (facts.work_date - lot.expires_on).days
        return not_met(
            f"lot {number} expired on {lot.expires_on}, {days} day(s) before use",
            "the client decides; keep the sample",
            **numbers,
        )
    if facts.prescribed is not None and lot.kit_code != facts.prescribed.kit_code:
        return not_met(
            f"lot {number} is {lot.kit_code}, prescribed was {facts.prescribed.kit_code}",
            "the client decides",
            **numbers,
        )
    sent = (str(mixing.data["lot_a"]), str(mixing.data["lot_b"]))
    if sent != (lot.resin_lot_a, lot.resin_lot_b):
        return not_met(
            f"resin lots {sent[0]} and {sent[1]} do not belong to lot {number} "
            f"({lot.resin_lot_a} and {lot.resin_lot_b})",
            "correct the lot numbers, or explain the mixed lots",
            **numbers,
        )
    return met(
        f"lot {number}, resin {sent[0]} and {sent[1]}, in date until {lot.expires_on}", **numbers
    )


def mix_masses(facts: RepairFacts) -> Verdict:
    """Both parts were weighed, enough and in the right ratio."""
    mixing = facts.progress.event(EventKind.MIXING_STARTED)
    if mixing is None or facts.prescribed is None:
        return incomplete("no mixing has been reported", "report mixing with both masses")
    tolerance = facts.limits.mass_tolerance_fraction
    for part, wanted in (("a", facts.prescribed.part_a_kg), ("b", facts.prescribed.part_b_kg)):
        found = mixing.data.get(f"mass_{part}_kg")
        if found is None:
            return incomplete(
                f"part {part.upper()} was not weighed", f"report the mass of part {part.upper()}"
            )
        off = (float(found) - wanted) / wanted
        if abs(off) > tolerance + _ROUNDING:
            return not_met(
                f"part {part.upper()} weighed {float(found):.2f} kg, prescribed {wanted:.2f} kg "
                f"({off:+.0%}, allowed {tolerance:.0%} either way)",
                "correct the mass, or mix again",
                found_kg=float(found),
                prescribed_kg=wanted,
            )
    return met("both masses within tolerance of the prescription")


def wet_out_saturated(facts: RepairFacts) -> Verdict:
    """The glass is saturated on both sides."""
    wet = facts.progress.event(EventKind.WET_OUT_DONE)
    if wet is None or wet.data.get("saturated") is None:
        return incomplete("saturation has not been reported", "report the wet-out")
    if wet.data["saturated"] is not True:
        return not_met("dry spots were reported", "wet out again before placing")
    return met("saturated on both sides")


def _before_mixing(facts: RepairFacts, kind: EventKind, reason: str) -> Verdict:
    done, mixing = facts.moment(kind), facts.moment(EventKind.MIXING_STARTED)
    if done is None or mixing is None:
        return met(reason)
    before = starts_after(mixing, done)
    if before is False:
        return not_met(
            f"{kind.value.replace('_', ' ')} is reported after mixing started",
            "correct the time, or the client decides",
        )
    if before is None:
        # Steps minutes apart on one device are in its own order even when the
        # clock is not known better; only another order by that device speaks against it.
        return (
            met(reason)
            if done.best < mixing.best
            else cannot_tell(
                f"the clocks cannot tell whether {kind.value.replace('_', ' ')} came before mixing",
                "correct the time",
            )
        )
    return met(reason)


def _hold_inputs(facts: RepairFacts) -> HoldTestInputs:
    event = facts.progress.latest[EventKind.HOLD_TEST_DONE]
    data, end = event.data, moment_of(event).best
    return HoldTestInputs(
        times=(end - timedelta(minutes=float(data["duration_min"])), end),
        readings=(
            HoldReading(float(data["start_pressure_kpa"]), data.get("start_temperature_c")),
            HoldReading(float(data["end_pressure_kpa"]), data.get("end_temperature_c")),
        ),
        required_duration_s=facts.limits.hold_test_min * 60,
        allowed_drop_kpa_per_min=facts.limits.allowed_drop_kpa_per_min,
        gauge_resolution_kpa=float(data["gauge_resolution_kpa"]),
        # At the repair pressure, as the gauge can tell it: a packer that holds a
        # lower one proves nothing.
        test_pressure_low_kpa=(
            facts.prescribed.target_kpa - 2 * facts.limits.gauge_accuracy_kpa
            if facts.prescribed
            else 0.0
        ),
    )


def _packer_serial(facts: RepairFacts) -> str | None:
    for kind in (EventKind.HOLD_TEST_DONE, EventKind.LOADED_OUT):
        event = facts.progress.event(kind)
        if event is not None and event.data.get("packer"):
            return str(event.data["packer"])
    return None
