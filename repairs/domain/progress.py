"""Progress: what the field events of a repair add up to.

`fold` is the only place that turns events into a stage. It reads the set of
events of one attempt; any order and any repeats give the same progress.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from repairs.domain.event_order import in_order, moment_of
from repairs.domain.field_event import OFFICE_KINDS, SLEEVE_KINDS, Event, EventKind
from repairs.domain.measuring import as_corrected


class Stage(StrEnum):
    """How far a repair has come; derived, never set by hand."""

    ORDERED = "ordered"
    PLANNED = "planned"
    ON_SITE = "on site"
    PREPARED = "prepared"
    WET_OUT = "wet out"
    IN_PLACE = "in place"
    CURING = "curing"
    CURED = "cured"
    WITHDRAWN = "withdrawn"
    FILMED = "filmed"
    CLOSED = "closed"
    ACCEPTED = "accepted"
    RETURNED = "returned"
    REWORK = "rework"


LIVE_STAGES = frozenset({Stage.WET_OUT, Stage.IN_PLACE, Stage.CURING, Stage.CURED})
"""Stages with resin mixed and the packer not yet out: somebody is watching a clock."""

NOT_BEGUN = frozenset({Stage.ORDERED, Stage.PLANNED, Stage.RETURNED, Stage.REWORK})
"""Stages of an attempt in which nobody has been in the street yet."""

_RUNGS: tuple[tuple[EventKind, Stage], ...] = (
    (EventKind.LEFT, Stage.FILMED),
    (EventKind.FILMED, Stage.FILMED),
    (EventKind.WITHDRAWN, Stage.WITHDRAWN),
    (EventKind.INFLATED, Stage.CURING),
    (EventKind.PLACED, Stage.IN_PLACE),
    (EventKind.WET_OUT_DONE, Stage.WET_OUT),
    (EventKind.MIXING_STARTED, Stage.WET_OUT),
    (EventKind.HOLD_TEST_DONE, Stage.PREPARED),
    (EventKind.FILM_CHANGED, Stage.ON_SITE),
    (EventKind.DRY_RUN_DONE, Stage.ON_SITE),
    (EventKind.DISTANCE_MARKED, Stage.ON_SITE),
    (EventKind.INSPECTED, Stage.ON_SITE),
    (EventKind.MADE_SAFE, Stage.ON_SITE),
    (EventKind.ARRIVED, Stage.ON_SITE),
)
"""From the top of the ladder down: the first kind found gives the stage."""

_AFTER_INFLATION = (EventKind.DEFLATED, EventKind.WITHDRAWN)


@dataclass(frozen=True, slots=True)
class Progress:
    """What is known of one attempt at a repair.

    Parameters
    ----------
    steps : tuple of Event
        Every event that counts, in order.
    latest : mapping of EventKind to Event
        For each kind the event that decides. A deflation or withdrawal from
        before the last inflation does not decide: the sleeve is under
        pressure again.
    on_hold : str
        The reason, or empty.
    """

    attempt: int
    stage: Stage
    on_hold: str
    steps: tuple[Event, ...]
    latest: Mapping[EventKind, Event]

    def event(self, kind: EventKind) -> Event | None:
        """Return the deciding event of a kind, or None."""
        return self.latest.get(kind)

    def all_of(self, kind: EventKind) -> tuple[Event, ...]:
        """Return every counted event of a kind, in order."""
        return tuple(event for event in self.steps if event.kind is kind)


def fold(events: Iterable[Event], *, attempt: int) -> Progress:
    """Add up the events of one attempt.

    Parameters
    ----------
    events : iterable of Event
        Events of the repair in any order, repeats allowed; those of other
        attempts are passed over.
    attempt : int
        The attempt asked for, from 1.
    """
    return _add_up([event for event in events if event.attempt == attempt], attempt)


def fold_standing(events: Iterable[Event], *, attempt: int) -> Progress:
    """Add up what stands for an attempt, with what it carries on from the one before.

    A client may return a repair for a film or a photo. What was done in the
    pipe then still stands, until another sleeve is prepared, or it was decided that it shall be.
    """
    given = list(events)
    first = standing_since(given, attempt=attempt)
    standing = [
        event
        for event in given
        if event.attempt == attempt
        or (first <= event.attempt < attempt and event.kind not in OFFICE_KINDS)
    ]
    return _add_up(standing, attempt)


def standing_since(events: Iterable[Event], *, attempt: int) -> int:
    """Return the first attempt whose events and files still stand for `attempt`."""
    anew = {event.attempt for event in in_order(events) if _begins_anew(event)}
    return max((number for number in anew if number <= attempt), default=attempt)


NEW_SLEEVE = frozenset(
    {
        EventKind.DRY_RUN_DONE,
        EventKind.FILM_CHANGED,
        EventKind.HOLD_TEST_DONE,
        EventKind.MIXING_STARTED,
    }
)
"""Nobody reports these of a sleeve that lies in the pipe: another one is coming."""


def _begins_anew(event: Event) -> bool:
    ordered = event.kind is EventKind.REWORK_ORDERED and event.data.get("anew") is True
    return ordered or event.kind in NEW_SLEEVE


def of_sleeve(progress: Progress, number: int) -> Progress:
    """Return the progress of one sleeve: its own steps, and those that serve all sleeves."""
    steps = [
        event
        for event in progress.steps
        if event.kind not in SLEEVE_KINDS or sleeve_of(event) == number
    ]
    return _add_up(steps, progress.attempt)


def sleeve_of(event: Event) -> int:
    """Return which sleeve a step belongs to, 1 where it is not said."""
    return int(event.data.get("sleeve", 1))


def _add_up(events: Iterable[Event], attempt: int) -> Progress:
    steps = as_corrected(in_order(events))
    latest = {event.kind: event for event in steps}
    _begin_the_newest_batch(latest, steps)
    _drop_what_a_new_inflation_undid(latest)
    _let_the_live_sleeve_decide(latest, steps, attempt)
    return Progress(
        attempt=attempt,
        stage=_stage(latest, attempt),
        on_hold=_on_hold(steps),
        steps=steps,
        latest=latest,
    )


def sleeves_begun(steps: Iterable[Event]) -> tuple[int, ...]:
    """Return the numbers of the sleeves something was reported of."""
    return tuple(sorted({sleeve_of(event) for event in steps if event.kind in SLEEVE_KINDS}))


def _let_the_live_sleeve_decide(
    latest: dict[EventKind, Event], steps: tuple[Event, ...], attempt: int
) -> None:
    """With several sleeves, one that is still live must stay in sight when another is out."""
    numbers = sleeves_begun(steps)
    if len(numbers) == 1 or not numbers:
        return
    each = [
        _add_up((e for e in steps if e.kind not in SLEEVE_KINDS or sleeve_of(e) == number), attempt)
        for number in numbers
    ]
    live = [progress for progress in each if progress.stage in LIVE_STAGES]
    if not live:
        return
    newest = max(live, key=_mixed_at)
    for kind in SLEEVE_KINDS:
        latest.pop(kind, None)
        if (event := newest.event(kind)) is not None:
            latest[kind] = event


def _mixed_at(progress: Progress) -> datetime:
    event = progress.event(EventKind.MIXING_STARTED) or progress.steps[-1]
    return moment_of(event).best


def _begin_the_newest_batch(latest: dict[EventKind, Event], steps: tuple[Event, ...]) -> None:
    """Let the newest batch decide: its first mixing, and nothing of a sleeve let go before it.

    The working time counts from the first mixing of a batch, so that a double tap
    gives no minutes. A new batch begins after a sleeve was let go, or where the crew
    says that the earlier one was thrown away.
    """
    last = latest.get(EventKind.MIXING_STARTED)
    if last is None:
        return
    batch = [
        event
        for event in steps
        if event.kind is EventKind.MIXING_STARTED and sleeve_of(event) == sleeve_of(last)
    ]
    let_go = [
        moment_of(event).best
        for event in steps
        if event.kind in _AFTER_INFLATION and moment_of(event).best < moment_of(last).best
    ]
    if let_go:
        batch = [event for event in batch if moment_of(event).best > max(let_go)]
        for kind in SLEEVE_KINDS - {EventKind.MIXING_STARTED}:
            if kind in latest and moment_of(latest[kind]).best <= max(let_go):
                del latest[kind]
        for kind in (EventKind.FILMED, EventKind.LEFT):
            if kind in latest and moment_of(latest[kind]).best < moment_of(last).best:
                del latest[kind]
    anew = [event for event in batch if event.data.get("new_batch") is True]
    latest[EventKind.MIXING_STARTED] = anew[-1] if anew else batch[0]


def _drop_what_a_new_inflation_undid(latest: dict[EventKind, Event]) -> None:
    inflated = latest.get(EventKind.INFLATED)
    if inflated is None:
        return
    for kind in _AFTER_INFLATION:
        event = latest.get(kind)
        if event is not None and moment_of(event).best < moment_of(inflated).best:
            del latest[kind]


def _stage(latest: Mapping[EventKind, Event], attempt: int) -> Stage:
    for kind, stage in (
        (EventKind.RETURNED, Stage.RETURNED),
        (EventKind.ACCEPTED, Stage.ACCEPTED),
        (EventKind.CLOSED, Stage.CLOSED),
    ):
        if kind in latest:
            return stage
    out_of_the_pipe = EventKind.DEFLATED in latest or EventKind.WITHDRAWN in latest
    for kind, stage in _RUNGS:
        # A film or a departure says nothing of the stage while a sleeve is
        # still under pressure: the clock must stay in sight.
        needs_deflation = stage is Stage.FILMED and (
            EventKind.INFLATED in latest or EventKind.MIXING_STARTED in latest
        )
        if kind in latest and (out_of_the_pipe or not needs_deflation):
            return stage
    if _planned(latest):
        return Stage.PLANNED
    if attempt == 1:
        return Stage.ORDERED
    return Stage.REWORK if EventKind.REWORK_ORDERED in latest else Stage.RETURNED


def _planned(latest: Mapping[EventKind, Event]) -> bool:
    """Whether a crew has it: the later of giving and taking back decides, in one instant giving.

    A plan that moves a repair takes it back and gives it anew in the same instant. Nobody takes
    back what was given in that very instant, so such a tie can only mean that it was moved.
    """
    assigned = latest.get(EventKind.ASSIGNED)
    unassigned = latest.get(EventKind.UNASSIGNED)
    if assigned is None:
        return False
    return unassigned is None or moment_of(assigned).best >= moment_of(unassigned).best


def _on_hold(steps: tuple[Event, ...]) -> str:
    reason = ""
    for event in steps:
        if event.kind is EventKind.HELD:
            reason = str(event.data.get("reason", "no reason given"))
        elif event.kind is EventKind.RELEASED:
            reason = ""
    return reason
