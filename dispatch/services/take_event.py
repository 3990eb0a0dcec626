"""Takes what a crew posts: whose work is it, and what became of each item."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from dispatch.selectors import reportable_repairs
from dispatch.services.remark import remarks_on
from repairs.domain.device_clock import offset_interval
from repairs.domain.incoming_event import IncomingEvent, read_event
from repairs.domain.limits import limits_from
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import Account, FieldEvent, Repair
from repairs.services.record_event import DeviceClock, Recorded, record_event, tell_changed


@dataclass(frozen=True, slots=True)
class ItemAnswer:
    """What became of one item of a batch; `remarks` say what its crew should know."""

    id: str
    status: str
    problem: Refused | None = None
    unknown: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def take_event(
    *, sent: Any, by: Account, device_now: datetime | None, now: datetime, told_later: bool = False
) -> tuple[Recorded, IncomingEvent]:
    """Store one event; Refused says what is wrong with it. `told_later` as for `record_event`."""
    incoming = read_event(sent)
    if isinstance(incoming, tuple):
        raise malformed(*incoming)
    repair = reportable_repairs(by).filter(pk=incoming.repair_id).first()
    if repair is None:
        raise Refused(
            "not_found",
            f"subject: no repair {incoming.repair_id} is assigned to your crew.",
            status=404,
            faults=[Fault("subject", str(incoming.repair_id), "a repair of your crew")],
        )
    if incoming.attempt is not None and incoming.attempt > repair.attempt:
        raise malformed(Fault("attempt", str(incoming.attempt), f"1 to {repair.attempt}"))
    given: dict[str, Any] = {
        "incoming": incoming,
        "repair": repair,
        "by": by,
        "clock": device_clock(repair, device_now, now),
        "now": now,
        "told_later": told_later,
    }
    try:
        with transaction.atomic():
            recorded = record_event(**given)
    except IntegrityError:
        # The same id arrived twice in this instant, for two repairs: the first
        # one holds the id for ever, so this asks again and is told so.
        with transaction.atomic():
            recorded = record_event(**given)
    return recorded, incoming


@transaction.atomic
def take_batch(
    *, items: list[Any], by: Account, device_now: datetime | None, now: datetime
) -> list[ItemAnswer]:
    """Store each event in a savepoint of its own, so one bad item never costs the others.

    What follows from them is told once a repair: a day's events fold once, not once an event.
    """
    stored: dict[UUID, list[FieldEvent]] = {}
    answers = [_take_one(item, by, device_now, now, stored) for item in items]
    for events in stored.values():
        tell_changed(repair=events[0].repair, events=events, now=now)
    return answers


def _take_one(
    sent: Any,
    by: Account,
    device_now: datetime | None,
    now: datetime,
    stored: dict[UUID, list[FieldEvent]],
) -> ItemAnswer:
    name = str(sent.get("id", "")) if isinstance(sent, Mapping) else ""
    try:
        recorded, incoming = take_event(
            sent=sent, by=by, device_now=device_now, now=now, told_later=True
        )
    except Refused as refused:
        status = "not understood" if refused.code == "malformed" else "refused"
        return ItemAnswer(name[:80], status, refused)
    if recorded.created:
        stored.setdefault(recorded.event.repair_id, []).append(recorded.event)
    status = "stored" if recorded.created else "already there"
    remarks = remarks_on(recorded.event)
    return ItemAnswer(str(recorded.event.id), status, None, incoming.unknown, remarks)


def device_clock(repair: Repair, device_now: datetime | None, now: datetime) -> DeviceClock:
    """Return what is known of the sending device's clock."""
    if device_now is not None:
        low, high = offset_interval(device_now=device_now, received_at=now)
        return DeviceClock(low, high, verified=True)
    # A clock that nobody compared is believed within what the contract allows.
    uncertainty = limits_from(repair.work_order.requirement_set.limits).clock_uncertainty_s
    return DeviceClock(-uncertainty, uncertainty, verified=False)
