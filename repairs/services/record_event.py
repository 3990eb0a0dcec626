"""Stores what somebody said has happened, once, and says that progress changed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction

from duework.services import announce
from repairs.domain.field_event import CLOCK_KINDS, OFFICE_KINDS, EventKind
from repairs.domain.incoming_event import IncomingEvent
from repairs.domain.problem import Refused
from repairs.models import Account, FieldEvent, Repair
from repairs.selectors import attempt_at, progress_of

PROGRESS_CHANGED = "progress-changed"
"""Announced after each stored event; dispatch and qa follow it."""

CLOCK_MOVED = "clock-moved"
"""Announced after an event that a clock depends on; repairs itself follows it."""

OFFICE_DEVICE = "office"


@dataclass(frozen=True, slots=True)
class DeviceClock:
    """What is known of the sending device's clock: its offset lies within these seconds."""

    offset_low_s: float
    offset_high_s: float
    verified: bool


@dataclass(frozen=True, slots=True)
class Recorded:
    """The stored event; `created` is False when the same event was there already."""

    event: FieldEvent
    created: bool


@transaction.atomic
def record_event(
    *,
    incoming: IncomingEvent,
    repair: Repair,
    by: Account,
    clock: DeviceClock,
    now: datetime,
    told_later: bool = False,
) -> Recorded:
    """Store a crew's event; a repeat is a no-op, another body under its id is refused.

    With `told_later` the caller calls `tell_changed` in the same transaction, once for many.
    """
    locked = _lock(repair)
    earlier = FieldEvent.objects.filter(pk=incoming.id).first()
    if earlier is not None:
        return _repeat(earlier, incoming)
    event = FieldEvent(
        id=incoming.id,
        repair=locked,
        attempt=_attempt(incoming, locked, clock),
        kind=incoming.kind.value,
        device=incoming.device,
        device_time=incoming.device_time,
        sequence=incoming.sequence,
        offset_low_s=clock.offset_low_s,
        offset_high_s=clock.offset_high_s,
        clock_verified=clock.verified,
        corrects=incoming.corrects,
        data=incoming.data,
        body_digest=incoming.digest,
        posted_by=by,
        received_at=now,
    )
    event.save()
    if not told_later:
        tell_changed(repair=locked, events=[event], now=now)
    return Recorded(event, created=True)


@transaction.atomic
def tell_changed(*, repair: Repair, events: Sequence[FieldEvent], now: datetime) -> None:
    """Fold the repair anew and announce it, once for all events that were stored together."""
    refresh_stage(repair=repair)
    _tell(events[-1].id, repair.pk, PROGRESS_CHANGED, now)
    moving = [event for event in events if event.kind in {kind.value for kind in CLOCK_KINDS}]
    if moving:
        _tell(moving[-1].id, repair.pk, CLOCK_MOVED, now)


@transaction.atomic
def record_milestone(
    *,
    repair: Repair,
    kind: EventKind,
    attempt: int,
    by: Account,
    now: datetime,
    data: dict[str, object] | None = None,
) -> FieldEvent:
    """Store what the office decided as an event beside the crew's, so there is one history."""
    if kind not in OFFICE_KINDS:
        raise ValueError(f"{kind} is a crew's to report")
    locked = _lock(repair)
    event = FieldEvent(
        id=uuid4(),
        repair=locked,
        attempt=attempt,
        kind=kind.value,
        device=OFFICE_DEVICE,
        device_time=now,
        offset_low_s=0.0,
        offset_high_s=0.0,
        clock_verified=True,
        data=data or {},
        body_digest="",
        posted_by=by,
        received_at=now,
    )
    event.save()
    tell_changed(repair=locked, events=[event], now=now)
    return event


@transaction.atomic
def open_next_attempt(*, repair: Repair) -> int:
    """Begin a new attempt; what happened in the old one stays as it is."""
    locked = _lock(repair)
    locked.attempt += 1
    locked.save(update_fields=["attempt"])
    repair.attempt = locked.attempt
    refresh_stage(repair=locked)
    return locked.attempt


@transaction.atomic
def refresh_stage(*, repair: Repair) -> None:
    """Write what the fold says beside the repair, for lists and filters."""
    progress = progress_of(repair)
    Repair.objects.filter(pk=repair.pk).update(
        stage=progress.stage.value, on_hold=progress.on_hold[:200]
    )


def _attempt(incoming: IncomingEvent, repair: Repair, clock: DeviceClock) -> int:
    if incoming.attempt is not None:
        return incoming.attempt
    if incoming.corrects is not None:
        corrected = FieldEvent.objects.filter(pk=incoming.corrects, repair=repair).first()
        if corrected is not None:
            return corrected.attempt
    return attempt_at(repair, incoming.device_time + timedelta(seconds=clock.offset_high_s))


def _lock(repair: Repair) -> Repair:
    # One writer at a time for a repair, so that stage and log cannot part.
    # SQLite holds the whole database since BEGIN IMMEDIATE.
    return Repair.objects.select_for_update().get(pk=repair.pk)


def _repeat(earlier: FieldEvent, incoming: IncomingEvent) -> Recorded:
    if earlier.body_digest != incoming.digest:
        raise Refused(
            "same_id_other_body",
            f"id: {incoming.id} is stored with another content. An id names one event for ever; "
            "send what changed as a new event with 'corrects'.",
            status=422,
        )
    return Recorded(earlier, created=False)


def _tell(event_id: UUID, repair_id: UUID, topic: str, now: datetime) -> None:
    announce(
        topic=topic,
        subject_type="repair",
        subject_id=repair_id,
        dedupe_key=f"{topic}:{event_id}",
        now=now,
    )
