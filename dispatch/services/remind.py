"""Keeps reminders in line with the facts, and tells them when they are due."""

from dataclasses import replace
from datetime import datetime
from uuid import uuid4

from django.db import transaction

from dispatch.domain.escalation import who_is_told
from dispatch.domain.reminder import Reminder
from dispatch.domain.sleeve_findings import WORTH_TELLING
from dispatch.models import Notice
from dispatch.services.escalate import keep_true, open_again, settle, tell_the_next
from dispatch.services.reminder_sources import Asked, ask_source, hold_subject
from duework.services import cancel_others, schedule

REMIND = "remind"
BRING_IN_LINE = "bring-reminders-in-line"


@transaction.atomic
def bring_in_line(*, source: str, subject_id: str, now: datetime) -> tuple[Reminder, ...]:
    """Write, move or call off the reminders of a subject; settle what was told in vain."""
    hold_subject(source, subject_id)
    asked = ask_source(source, subject_id, now)
    if asked is None:
        return ()
    standing = _standing(source, subject_id, asked, now)
    keys = {_key(source, subject_id, asked, each): each for each in asked.reminders}
    waiting = {key: each for key, each in keys.items() if key not in standing}
    for key, notice in standing.items():
        keep_true(notice=notice, reminder=keys[key], asked=asked, now=now)
    cancel_others(prefix=f"{REMIND}:{source}:{subject_id}:", keep=list(waiting), now=now)
    for notice in Notice.objects.filter(
        source=source, subject_id=subject_id, settled_at__isnull=True
    ).exclude(pk__in=[each.pk for each in standing.values()]):
        settle(notice=notice, now=now)
    for notice in Notice.objects.filter(key__in=waiting):
        open_again(notice=notice, reminder=waiting.pop(notice.key), asked=asked, now=now)
    for key, reminder in waiting.items():
        calls = who_is_told(reminder, asked.ladder, None, now, asked.zone)
        first = calls.told[0] if calls.told else calls.next
        if first is not None and reminder.useful_until > now:
            schedule(
                kind=REMIND,
                subject_type=source,
                subject_id=subject_id,
                dedupe_key=key,
                due_at=first.at,
                useful_until=reminder.useful_until,
                payload={"code": reminder.code, "item": reminder.item},
            )
    return asked.reminders


@transaction.atomic
def ask_for_order(*, source: str, subject_id: str, now: datetime) -> None:
    """Have the reminders of a subject brought in line by due work of its own."""
    schedule(
        kind=BRING_IN_LINE,
        subject_type=source,
        subject_id=subject_id,
        dedupe_key=f"{BRING_IN_LINE}:{uuid4()}",
        due_at=now,
    )


@transaction.atomic
def tell(
    *, source: str, subject_id: str, key: str, code: str, item: str, now: datetime
) -> datetime | None:
    """Write the notice if the facts still ask for it; they are asked anew.

    Returns
    -------
    datetime or None
        When to ask again, where it is too early; None when there is nothing more to do.
    """
    asked = ask_source(source, subject_id, now)
    if asked is None:
        return None
    reminder = next((r for r in asked.reminders if (r.code, r.item) == (code, item)), None)
    if reminder is None:
        return None
    fresh = _key(source, subject_id, asked, reminder)
    if fresh in _standing(source, subject_id, asked, now):
        return None
    # What comes late, after a standstill, is not told in the night either.
    from_now = replace(reminder, due_at=max(reminder.due_at, now))
    calls = who_is_told(from_now, asked.ladder, None, now, asked.zone)
    if not calls.told:
        if fresh == key and calls.next is not None:
            return calls.next.at
        ask_for_order(source=source, subject_id=subject_id, now=now)
        return None
    notice, created = Notice.objects.get_or_create(
        key=fresh,
        defaults={
            "source": source,
            "subject_id": subject_id,
            "since": asked.since,
            "crew": asked.crew,
            "repair": asked.repair,
            "code": code,
            "item": item,
            "words": reminder.words,
            "live": reminder.live,
            "due_at": reminder.about,
            "useful_until": reminder.useful_until,
            "sent_at": now,
            "changed_at": now,
        },
    )
    if created:
        tell_the_next(notice=notice, reminder=reminder, asked=asked, now=now)
    return None


@transaction.atomic
def tell_again(*, notice: Notice, own_key: str, now: datetime) -> datetime | None:
    """Tell the next rung, unless somebody acknowledged it or the facts have settled it.

    Returns when to come up again, as `tell_the_next` does.
    """
    if not notice.open:
        return None
    asked = ask_source(notice.source, notice.subject_id, now)
    standing = {} if asked is None else _standing(notice.source, notice.subject_id, asked, now)
    key = next((key for key, each in standing.items() if each.pk == notice.pk), None)
    if asked is None or key is None:
        settle(notice=notice, now=now, own_key=own_key)
        return None
    wanted = {_key(notice.source, notice.subject_id, asked, r): r for r in asked.reminders}
    reminder = wanted[key]
    keep_true(notice=notice, reminder=reminder, asked=asked, now=now)
    return tell_the_next(notice=notice, reminder=reminder, asked=asked, now=now, own_key=own_key)


def _standing(source: str, subject_id: str, asked: Asked, now: datetime) -> dict[str, Notice]:
    """Return the reminders that have been told already: the notice, by the reminder's key.

    A clock that is read again may move what is past by a minute: that is the same notice.
    """
    told = _told(source, subject_id, asked)
    found: dict[str, Notice] = {}
    for reminder in asked.reminders:
        key = _key(source, subject_id, asked, reminder)
        for notice in told:
            same = (notice.code, notice.item) == (reminder.code, reminder.item)
            near = abs(notice.due_at - reminder.about) < WORTH_TELLING and reminder.due_at <= now
            if notice.key == key or (same and near):
                found[key] = notice
    return found


def _told(source: str, subject_id: str, asked: Asked) -> list[Notice]:
    return list(
        Notice.objects.filter(
            source=source, subject_id=subject_id, since=asked.since, settled_at__isnull=True
        )
    )


def _key(source: str, subject_id: str, asked: Asked, reminder: Reminder) -> str:
    about = f"{reminder.about:%Y%m%dT%H%MZ}"
    what = f"{reminder.code}:{reminder.item}" if reminder.item else reminder.code
    return f"{REMIND}:{source}:{subject_id}:{asked.since}:{what}:{about}"
