"""Opens a nonconformance for each hold point passed; withdraws it when all was well."""

from datetime import datetime

from django.db import transaction

from qa.domain.event_words import kind_words
from qa.domain.hold_points import breaches
from qa.facts import facts_of
from qa.models import Closing, Evidence, FileCheck, Nonconformance
from qa.sealed_files import sealed_key
from qa.selectors import last_closed
from repairs.models import FieldEvent, Repair
from repairs.selectors import standing_steps_of

LATE_EVENT = "event_after_closing"
BROKEN_FILE = "stored_file_broken"


@transaction.atomic
def check_hold_points(*, repair: Repair, attempt: int, now: datetime) -> list[Nonconformance]:
    """Bring the nonconformances that rules found in line with the facts."""
    Repair.objects.select_for_update().get(pk=repair.pk)
    facts = facts_of(repair, attempt=attempt, now=now)
    found = {breach.code: breach.words for breach in breaches(facts)}
    late = _late_words(repair, attempt)
    if late:
        found[LATE_EVENT] = late
    broken = _broken_words(repair, attempt)
    if broken:
        found[BROKEN_FILE] = broken
    answered = _answered_before(repair, attempt)
    found = {code: words for code, words in found.items() if (code, words) not in answered}
    mine = Nonconformance.objects.filter(repair=repair, attempt=attempt, found_by_rule=True)
    for row in mine:
        _bring_in_line(row, found.pop(row.code, None), now)
    return [
        Nonconformance.objects.create(
            repair=repair,
            attempt=attempt,
            code=code,
            words=words,
            found_by_rule=True,
            opened_at=now,
        )
        for code, words in found.items()
    ]


def _bring_in_line(row: Nonconformance, words: str | None, now: datetime) -> None:
    if words is None:
        if row.withdrawn_at is None:
            row.withdrawn_at = now
            row.save(update_fields=["withdrawn_at"])
    elif row.withdrawn_at is not None or row.words != words:
        row.withdrawn_at, row.words = None, words
        row.save(update_fields=["withdrawn_at", "words"])


def _answered_before(repair: Repair, attempt: int) -> set[tuple[str, str]]:
    """Return what stands of an attempt this one carries on: it is not asked twice.

    What nobody decided on stands in the way of closing, too, as long as its attempt never closed.
    """
    since = standing_steps_of(repair, attempt=attempt).since
    last = last_closed(repair, before=attempt)
    rows = Nonconformance.objects.filter(
        repair=repair, attempt__gte=since, attempt__lt=attempt, withdrawn_at__isnull=True
    ).exclude(disposition="", attempt__lte=last)
    return set(rows.values_list("code", "words"))


def _late_words(repair: Repair, attempt: int) -> str:
    """Say which crew events came after the attempt was closed: they never reopen it silently."""
    closing = Closing.objects.filter(repair=repair, attempt=attempt).first()
    if closing is None:
        return ""
    late = FieldEvent.objects.filter(
        repair=repair, attempt=attempt, received_at__gt=closing.closed_at
    ).exclude(device="office")
    kinds = sorted({kind_words(row.kind) for row in late})
    return f"reported after the repair was closed: {', '.join(kinds)}" if kinds else ""


def _broken_words(repair: Repair, attempt: int) -> str:
    """Say which files of the attempt were not what they were when they were last read back."""
    rows = list(Evidence.objects.filter(repair=repair, attempt=attempt))
    keys = {sealed_key(row.sha256): row.file_name for row in rows}
    problems = FileCheck.objects.filter(storage_key__in=keys).exclude(problem="")
    words = [f"{keys[each.storage_key]}: {each.problem}" for each in problems]
    return f"a stored file is not what came in: {'; '.join(sorted(words))}" if words else ""
