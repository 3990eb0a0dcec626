"""What was installed and what was measured, as a package tells it."""

from collections.abc import Mapping
from datetime import UTC, datetime

from qa.domain.closeout import (
    CureFact,
    HoldTestFact,
    Series,
    SleeveFact,
    StepFact,
    WorkingTimeFact,
)
from qa.domain.event_words import say
from qa.domain.repair_facts import Laid, LotFacts, RepairFacts
from qa.domain.rules.place import from_datum
from qa.handover.proof import verdict_word
from qa.models import Closing
from repairs.domain import working_time
from repairs.domain.cure_clock import cure_clock
from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind

LATE_AFTER_S = 3600.0
"""A step received this long after it happened is marked as reported late."""


def sleeves(laid: Laid, lots: Mapping[str, LotFacts]) -> tuple[SleeveFact, ...]:
    """Return the sleeves that were placed, as they lie, measured from the datum."""
    if laid.prescribed is None:
        return ()
    half = laid.prescribed.sleeve_length_m / 2
    found = []
    for each in laid.sleeves or (laid,):
        placed = each.progress.event(EventKind.PLACED)
        mixing = each.progress.event(EventKind.MIXING_STARTED)
        centre = None if placed is None else from_datum(laid, placed, "distance_m")
        if mixing is None or centre is None:
            continue
        lot = lots.get(str(mixing.data["kit_lot"]))
        found.append(
            SleeveFact(
                start_m=round(centre - half, 3),
                end_m=round(centre + half, 3),
                kit_lot=str(mixing.data["kit_lot"]),
                resin_lots=(str(mixing.data["lot_a"]), str(mixing.data["lot_b"])),
                expires_on=lot.expires_on if lot else None,
            )
        )
    return tuple(found)


def timeline(facts: RepairFacts, replaced: tuple[Event, ...]) -> tuple[StepFact, ...]:
    """Return every reported step, those that a correction replaced or took back among them.

    A step that was carried on from an earlier attempt says so in its note.
    """
    steps = [step(event, facts.attempt) for event in facts.progress.steps]
    steps += [
        step(event, facts.attempt, "Replaced or taken back by a correction.") for event in replaced
    ]
    return tuple(sorted(steps, key=lambda each: (each.at, each.kind)))


def step(event: Event, attempt: int, note: str = "") -> StepFact:
    """Return one reported event in a client's words, as attempt `attempt` tells it."""
    earlier = "" if event.attempt == attempt else f"Attempt {event.attempt}."
    moment = moment_of(event)
    late_s = (event.received_at - moment.latest).total_seconds()
    return StepFact(
        kind=event.kind.value,
        words=say(event),
        at=moment.best,
        device=event.device,
        reported_late=late_s > LATE_AFTER_S,
        note=" ".join(filter(None, (earlier, note or str(event.data.get("note", ""))))),
    )


def cure(facts: RepairFacts) -> CureFact | None:
    """Return the cure clock as it stood at the deflation; None when it cannot be told."""
    deflated = facts.moment(EventKind.DEFLATED)
    if facts.cure_inputs is None or facts.cure_inputs.started_at is None or deflated is None:
        return None
    clock = cure_clock(facts.cure_inputs, deflated.earliest)
    if clock.early is None or clock.best is None or clock.late is None or clock.hold_until is None:
        return None
    return CureFact(
        started_at=facts.cure_inputs.started_at,
        early_at=clock.early,
        best_at=clock.best,
        late_at=clock.late,
        hold_until_at=clock.hold_until,
        deflated_at=deflated.best,
        working=clock.working,
    )


def working_time_kept(facts: RepairFacts) -> WorkingTimeFact | None:
    """Return mixing, inflation and deadline; None when not all are known."""
    mixing, inflated = facts.moment(EventKind.MIXING_STARTED), facts.moment(EventKind.INFLATED)
    if facts.working_inputs is None or mixing is None or inflated is None:
        return None
    deadline = working_time.working_time(facts.working_inputs, inflated.latest).deadline_early
    if deadline is None:
        return None
    return WorkingTimeFact(mixing.best, inflated.best, deadline)


def hold_test(closing: Closing, facts: RepairFacts) -> HoldTestFact | None:
    """Return the packer's hold test with its verdict."""
    event = facts.progress.event(EventKind.HOLD_TEST_DONE)
    row = next((each for each in closing.verdicts if each["code"] == "hold_test"), None)
    if event is None or row is None:
        return None
    return HoldTestFact(f"{say(event)}. {row['reason']}", verdict_word(row))


def pressure(facts: RepairFacts) -> Series:
    """Return every logged pressure once, in order of time."""
    if facts.pressure is None:
        return ()
    samples = sorted(
        set(
            zip(facts.pressure.times_s.tolist(), facts.pressure.pressures_kpa.tolist(), strict=True)
        )
    )
    return tuple((datetime.fromtimestamp(at, UTC), kpa) for at, kpa in samples)


def temperature(facts: RepairFacts) -> Series:
    """Return every wall temperature once, in order of time."""
    if facts.cure_inputs is None:
        return ()
    return tuple(
        sorted({(reading.at, reading.temperature_c) for reading in facts.cure_inputs.readings})
    )
