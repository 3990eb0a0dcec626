"""Keeps what could not be taken, and settles it: sent again mended, or dropped with a reason."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from dispatch.models import SetAside
from dispatch.services.take_event import take_event
from repairs.domain.incoming_event import body_digest
from repairs.domain.problem import Refused
from repairs.models import Account, FieldEvent

KEPT = frozenset({"malformed", "not_found", "same_id_other_body"})
"""What a person can settle; a server that is busy is no fault of the report."""


def set_aside(
    *, sent: Any, refused: Refused, by: Account, device_now: datetime | None, now: datetime
) -> SetAside | None:
    """Keep a report that was refused, once however often it comes; None where nothing is kept."""
    if refused.code not in KEPT:
        return None
    name = str(sent.get("id", "")) if isinstance(sent, Mapping) else ""
    row, _ = SetAside.objects.get_or_create(
        posted_by=by,
        digest=body_digest({"sent": sent}),
        defaults={
            # Escaped to ASCII, so that it holds even what no column could.
            "body": json.dumps(sent),
            "event_id": name.encode("ascii", "replace").decode().replace("\0", "?")[:80],
            "code": refused.code,
            "detail": refused.detail.replace("\0", "?"),
            "faults": [
                {"field": f.field, "found": f.found, "expected": f.expected} for f in refused.faults
            ],
            "device_told": device_now,
            "received_at": now,
        },
    )
    return row


def send_again(*, row: SetAside, mended: Any | None, by: Account, now: datetime) -> FieldEvent:
    """Take a kept report, mended or as it is, in the name of who sends it again.

    Both stay: what was sent first, and the event that came of it.

    Raises
    ------
    Refused
        What is still wrong with it, or ``already_answered`` when it was settled before.
    """
    with transaction.atomic():
        locked = _open(row)
        sent = json.loads(locked.body) if mended is None else mended
        told = locked.device_told
        # What its clock was off was measured when it came in, not now.
        then = None if told is None else told + (now - locked.received_at)
        recorded, _ = take_event(sent=sent, by=by, device_now=then, now=now)
        _settle(locked, by, now, reason="sent again")
        locked.settled_as = recorded.event.pk
        locked.save()
    return recorded.event


@transaction.atomic
def drop(*, row: SetAside, reason: str, by: Account, now: datetime) -> SetAside:
    """Settle a report as nothing, with a reason; its words stay."""
    locked = _open(row)
    _settle(locked, by, now, reason=reason)
    locked.save()
    return locked


def _open(row: SetAside) -> SetAside:
    locked = SetAside.objects.select_for_update().get(pk=row.pk)
    if locked.settled_at is not None:
        raise Refused(
            "already_answered", "This report was settled before; the first answer stands."
        )
    return locked


def _settle(row: SetAside, by: Account, now: datetime, *, reason: str) -> None:
    row.settled_at, row.settled_by, row.settled_reason = now, by, reason
