"""Reads one CloudEvents 1.0 event as a crew's device sends it.

Attributes used: ``id`` (UUID made by the device), ``source`` (the device),
``type`` (``curewright.field.<kind>``), ``subject`` (the repair's id), ``time``
(when it happened by the device's clock, with offset) and ``data``. Extensions:
``sequence`` (the device's counter), ``corrects`` (id of the event this one
replaces) and ``attempt``.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from repairs.domain.event_data import read_data
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.domain.problem import Fault
from repairs.domain.storable import FIRST_YEAR, LAST_YEAR, unstorable

TYPE_PREFIX = "curewright.field."
SPEC_VERSION = "1.0"
MAX_DEVICE_NAME = 100
MAX_SEQUENCE = 2**63 - 1
MAX_ATTEMPT = 1000


@dataclass(frozen=True, slots=True)
class IncomingEvent:
    """An event that was understood; `unknown` names data kept but not understood."""

    id: UUID
    repair_id: UUID
    kind: EventKind
    device: str
    device_time: datetime
    sequence: int | None
    corrects: UUID | None
    attempt: int | None
    data: dict[str, Any]
    digest: str
    unknown: tuple[str, ...]


def read_event(sent: Any) -> IncomingEvent | tuple[Fault, ...]:
    """Read one event; return it, or every fault found in it."""
    if not isinstance(sent, Mapping):
        return (Fault("event", type(sent).__name__, "a CloudEvents object"),)
    for name, value in sent.items():
        if found := unstorable(name) or unstorable(value):
            return (Fault(ascii(name)[1:-1][:80], found, "what a record can hold"),)
    faults: list[Fault] = []
    if sent.get("specversion") != SPEC_VERSION:
        faults.append(Fault("specversion", repr(sent.get("specversion")), '"1.0"'))
    event_id = _uuid(sent, "id", faults)
    repair_id = _uuid(sent, "subject", faults)
    kind = _kind(sent, faults)
    device = sent.get("source")
    if not isinstance(device, str) or not 0 < len(device) <= MAX_DEVICE_NAME:
        expected = f"the device's name, 1 to {MAX_DEVICE_NAME} characters"
        faults.append(Fault("source", repr(device), expected))
    device_time = _time(sent, faults)
    corrects = _uuid(sent, "corrects", faults) if sent.get("corrects") is not None else None
    if corrects is not None and corrects == event_id:
        faults.append(Fault("corrects", str(corrects), "the id of another event"))
    sequence = _whole(sent, "sequence", 0, MAX_SEQUENCE, faults)
    attempt = _whole(sent, "attempt", 1, MAX_ATTEMPT, faults)
    kept, unknown = _data(sent, kind, faults)
    if kept.get("taken_back") and corrects is None:
        faults.append(Fault("corrects", "nothing", "the id of the event that is taken back"))
    if faults or event_id is None or repair_id is None or kind is None or device_time is None:
        return tuple(faults)
    return IncomingEvent(
        id=event_id,
        repair_id=repair_id,
        kind=kind,
        device=str(device),
        device_time=device_time,
        sequence=sequence,
        corrects=corrects,
        attempt=attempt,
        data=kept,
        digest=body_digest(sent),
        unknown=unknown,
    )


def body_digest(sent: Mapping[str, Any]) -> str:
    """Return the SHA-256 of an event's canonical JSON, by which a repeat is known."""
    canonical = json.dumps(sent, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode("utf-8", "surrogatepass")).hexdigest()


def _uuid(sent: Mapping[str, Any], name: str, faults: list[Fault]) -> UUID | None:
    value = sent.get(name)
    try:
        return UUID(value) if isinstance(value, str) else _not_a_uuid()
    except ValueError:
        found = "nothing" if value is None else repr(value)[:80]
        faults.append(Fault(name, found, "a UUID such as 018f2d6e-7c1a-7b60-9a53-2f1a4f6f9f10"))
        return None


def _not_a_uuid() -> UUID:
    raise ValueError


def _kind(sent: Mapping[str, Any], faults: list[Fault]) -> EventKind | None:
    value = sent.get("type")
    crew_kinds = [kind for kind in EventKind if kind not in OFFICE_KINDS]
    if isinstance(value, str) and value.startswith(TYPE_PREFIX):
        word = value.removeprefix(TYPE_PREFIX)
        if word in {kind.value for kind in crew_kinds}:
            return EventKind(word)
    expected = f"{TYPE_PREFIX}<kind>, kind one of {', '.join(kind.value for kind in crew_kinds)}"
    faults.append(Fault("type", repr(value)[:80], expected))
    return None


def _time(sent: Mapping[str, Any], faults: list[Fault]) -> datetime | None:
    value = sent.get("time")
    expected = (
        f"a time of {FIRST_YEAR} to {LAST_YEAR} with its offset, such as 2026-11-25T09:30:00-05:00"
    )
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
        faults.append(Fault("time", "nothing" if value is None else repr(value)[:80], expected))
        return None
    return found.astimezone(UTC)


def _whole(
    sent: Mapping[str, Any], name: str, low: int, high: int, faults: list[Fault]
) -> int | None:
    value = sent.get(name)
    if value is None:
        return None
    if isinstance(value, str) and value.isascii() and value.isdigit():
        value = int(value[:20])
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        faults.append(Fault(name, repr(value)[:80], f"a whole number from {low} to {high}"))
        return None
    return value


def _data(
    sent: Mapping[str, Any], kind: EventKind | None, faults: list[Fault]
) -> tuple[dict[str, Any], tuple[str, ...]]:
    data = sent.get("data", {})
    if data is None:
        data = {}
    if not isinstance(data, Mapping):
        faults.append(Fault("data", type(data).__name__, "an object"))
        return {}, ()
    if kind is None:
        return {}, ()
    kept, wrong, unknown = read_data(kind, data)
    faults.extend(wrong)
    return kept, unknown
