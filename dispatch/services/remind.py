"""Schedules reminders from the clocks, and tells them when they are due."""

from dataclasses import replace
from datetime import datetime

from django.db import transaction

from dispatch.domain.reminders import Reminder, reminders_for
from dispatch.models import Notice
from dispatch.selectors import live_assignment
from duework.services import cancel_others, schedule
from repairs.models import Repair
from repairs.selectors import clocks_by_sleeve

REMIND = "remind"


@transaction.atomic
def schedule_reminders(*, repair: Repair, now: datetime) -> tuple[Reminder, ...]:
    """Bring the reminders of a repair in line with its clocks: write, move, call off."""
    wanted = _wanted(repair, now)
    keys = {_key(repair, reminder): reminder for reminder in wanted}
    cancel_others(prefix=_prefix(repair), keep=list(keys), now=now)
    for key, reminder in keys.items():
        if reminder.useful_until > now:
            schedule(
                kind=REMIND,
                subject_type="repair",
                subject_id=repair.pk,
                dedupe_key=key,
                due_at=reminder.due_at,
                useful_until=reminder.useful_until,
                payload={"code": reminder.code},
            )
    return wanted


@transaction.atomic
def tell(*, repair: Repair, key: str, code: str, now: datetime) -> Notice | None:
    """Write the notice if the facts still ask for it; the clocks are asked anew."""
    reminder = next((each for each in _wanted(repair, now) if each.code == code), None)
    if reminder is None or reminder.due_at > now:
        return None
    assignment = live_assignment(repair)
    notice, _ = Notice.objects.get_or_create(
        key=key,
        defaults={
            "crew": assignment.crew if assignment else None,
            "repair": repair,
            "code": code,
            "words": reminder.words,
            "due_at": reminder.about,
            "sent_at": now,
        },
    )
    return notice


def _wanted(repair: Repair, now: datetime) -> tuple[Reminder, ...]:
    sleeves = clocks_by_sleeve(repair, now=now)
    wanted: list[Reminder] = []
    for number, progress, clocks in sleeves:
        mark = f"sleeve {number}: " if len(sleeves) > 1 else ""
        told = _told(repair, mark)
        wanted += [
            replace(each, code=mark + each.code, words=mark.capitalize() + each.words)
            for each in reminders_for(progress, clocks, now, told)
        ]
    return tuple(wanted)


def _told(repair: Repair, mark: str) -> dict[str, datetime]:
    """Return for each code the last instant it was told about in the attempt under way."""
    told: dict[str, datetime] = {}
    rows = Notice.objects.filter(repair=repair, key__startswith=_prefix(repair, repair.attempt))
    for row in rows.filter(code__startswith=mark).order_by("due_at"):
        told[row.code.removeprefix(mark)] = row.due_at
    return told


def _prefix(repair: Repair, attempt: int | None = None) -> str:
    return f"{REMIND}:{repair.pk}:" + ("" if attempt is None else f"{attempt}:")


def _key(repair: Repair, reminder: Reminder) -> str:
    about = f"{reminder.about:%Y%m%dT%H%MZ}"
    return f"{_prefix(repair, repair.attempt)}{reminder.code}:{about}"
