"""What people decide about work that was given up or came too late.

Kept apart from ``services``: programs write due work, people rule on it, and each
ruling is kept with who, when and why.
"""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from duework import doorbell
from duework.models import Ruling, WorkItem
from duework.models.ruling import LONGEST_REASON

State = WorkItem.State
Word = Ruling.Word
RULED_ON = (State.DEAD, State.EXPIRED)


class NotPutAsideError(Exception):
    """There is nothing to rule on: the item is due, being done, done or called off."""


@transaction.atomic
def rule(*, item_id: UUID, word: Ruling.Word, reason: str, ruled_by: str, now: datetime) -> Ruling:
    """Try a dead or expired item again at once, or drop it, and keep who said so and why.

    Tried again it has all its attempts anew and is useful for as long as it takes:
    a person wants it now. Dropped it is cancelled, and goes with the next purge.

    Raises
    ------
    ValueError
        When no reason or no name is given, or the reason is longer than 500 characters.
    WorkItem.DoesNotExist
        When there is no such item.
    NotPutAsideError
        When the item is neither dead nor expired, perhaps because somebody ruled before.
    """
    reason, ruled_by = reason.strip(), ruled_by.strip()
    if not ruled_by or not 0 < len(reason) <= LONGEST_REASON:
        raise ValueError(f"needs a name, and a reason of 1 to {LONGEST_REASON} characters.")
    row = WorkItem.objects.select_for_update().get(pk=item_id)
    if row.state not in RULED_ON:
        raise NotPutAsideError(f"{row} is not put aside: nothing to rule on.")
    ruling = Ruling.objects.create(
        item_id=row.pk,
        dedupe_key=row.dedupe_key,
        kind=row.kind,
        word=word,
        reason=reason,
        ruled_by=ruled_by,
        ruled_at=now,
        state_before=row.state,
        attempts_before=row.attempts,
        error_before=row.last_error,
    )
    _carry_out(row, word, now)
    return ruling


def _carry_out(row: WorkItem, word: Ruling.Word, now: datetime) -> None:
    if word == Word.DROP:
        row.state, row.finished_at = State.CANCELLED, now
    else:
        row.state, row.finished_at = State.DUE, None
        row.due_at, row.useful_until, row.attempts, row.progress_percent = now, None, 0, 0
        doorbell.ring_after_commit()
    row.save()
