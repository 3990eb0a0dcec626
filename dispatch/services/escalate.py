"""Tells the rungs of a contract's ladder one after the other, until somebody acknowledges."""

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from dispatch.domain.escalation import who_is_told
from dispatch.domain.reminder import Reminder, Rung
from dispatch.models import Call, Contact, Message, Notice
from dispatch.selectors import people_of
from dispatch.services.reminder_sources import Asked
from duework.services import cancel_others, cancel_prefix, schedule
from repairs.models import Account

ESCALATE = "escalate"
DELIVER = "deliver"


@transaction.atomic
def tell_the_next(
    *, notice: Notice, reminder: Reminder, asked: Asked, now: datetime, own_key: str = ""
) -> datetime | None:
    """Tell every rung whose time has come, and have the one after it come up in time.

    The waits count from when the first was told, which may be late: after a standstill
    nobody wakes the whole ladder at once.

    Returns
    -------
    datetime or None
        When the due item with `own_key` is to come up again itself, if it is.
    """
    if notice.acknowledged_at is not None:
        # Not even a rung whose time had come while it was settled.
        return None
    begun = replace(reminder, due_at=notice.sent_at)
    calls = who_is_told(begun, asked.ladder, None, now, asked.zone)
    for each in calls.told:
        _call(notice, each.to, now)
    if calls.next is None:
        return None
    key = f"{_prefix(notice)}{calls.next.to}"
    if key == own_key:
        return calls.next.at
    schedule(
        kind=ESCALATE,
        subject_type="notice",
        subject_id=notice.pk,
        dedupe_key=key,
        due_at=calls.next.at,
        useful_until=reminder.useful_until,
    )
    return None


@transaction.atomic
def tell_crew(*, notice: Notice, now: datetime) -> None:
    """Tell the lead of a notice's crew, and nobody above."""
    _call(notice, Rung.CREW_LEAD, now)


def _call(notice: Notice, to: Rung, now: datetime) -> None:
    _, created = Call.objects.get_or_create(notice=notice, to=to.value, defaults={"at": now})
    if not created:
        return
    _touch(notice, now)
    people = people_of(to, crew=notice.crew, now=now, repair=notice.repair)
    for contact in Contact.objects.filter(account__in=people):
        message, new = Message.objects.get_or_create(
            notice=notice, contact=contact, defaults={"to": to.value, "created_at": now}
        )
        if new:
            schedule(
                kind=DELIVER,
                subject_type="message",
                subject_id=message.pk,
                dedupe_key=f"{DELIVER}:{message.pk}",
                due_at=now,
                useful_until=notice.useful_until,
            )


@transaction.atomic
def acknowledge(*, notice: Notice, by: Account, now: datetime) -> Notice:
    """Say that somebody takes care of it: nobody else is told. Twice is a no-op."""
    # The due item before its notice, as the item's own handler does: neither waits for the other.
    cancel_prefix(prefix=_prefix(notice), now=now)
    row = Notice.objects.select_for_update().get(pk=notice.pk)
    if row.acknowledged_at is None:
        row.acknowledged_at, row.acknowledged_by = now, by
        row.save(update_fields=["acknowledged_at", "acknowledged_by"])
        _touch(row, now)
    return row


@transaction.atomic
def settle(*, notice: Notice, now: datetime, own_key: str = "") -> None:
    """Say that the facts ask for it no more; the due item with `own_key` ends by itself."""
    cancel_others(prefix=_prefix(notice), keep=[own_key], now=now)
    notice.settled_at = now
    notice.save(update_fields=["settled_at"])
    _touch(notice, now)


@transaction.atomic
def open_again(*, notice: Notice, reminder: Reminder, asked: Asked, now: datetime) -> None:
    """Say that the facts ask for it once more, and go on up the ladder."""
    notice.settled_at = None
    notice.save(update_fields=["settled_at"])
    _touch(notice, now)
    tell_the_next(notice=notice, reminder=reminder, asked=asked, now=now)


@transaction.atomic
def keep_true(*, notice: Notice, reminder: Reminder, asked: Asked, now: datetime) -> None:
    """Let a notice that stands say what is true now, to the crew that has it now."""
    until = max(notice.useful_until, reminder.useful_until)
    true = (reminder.words, until, asked.crew)
    if (notice.words, notice.useful_until, notice.crew) != true:
        notice.words, notice.useful_until, notice.crew = true
        notice.save(update_fields=["words", "useful_until", "crew"])
        _touch(notice, now)


def _touch(notice: Notice, now: datetime) -> None:
    notice.changed_at = now
    notice.save(update_fields=["changed_at"])


def _prefix(notice: Notice) -> str:
    return f"{ESCALATE}:{notice.pk}:"
