"""Tells each crew what a published plan changes for it: one message, and only where it must."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction

from dispatch.domain.plan_news import Visit, news_for
from dispatch.models import Assignment, Crew, Notice, Plan
from dispatch.services.escalate import tell_crew

PLAN = "plan"
PLAN_CHANGED = "plan_changed"


@transaction.atomic
def tell_crews(
    *, plan: Plan, before: Iterable[Assignment], after: Iterable[Assignment], now: datetime
) -> tuple[Notice, ...]:
    """Write and send one notice to each crew that has something else to do than it was told.

    The dispatcher decides when a plan is published: there are no quiet hours, and nobody
    above the crew is told.
    """
    was, will = _by_crew(before), _by_crew(after)
    told = []
    for crew in sorted({*was, *will}, key=lambda each: each.code):
        words = news_for(was.get(crew, ()), will.get(crew, ()), crew.time_zone)
        if words:
            told.append(_tell(plan, crew, words, now))
    return tuple(told)


def _by_crew(rows: Iterable[Assignment]) -> dict[Crew, list[Visit]]:
    found: dict[Crew, list[Visit]] = {}
    for row in rows:
        visit = Visit(str(row.repair_id), row.repair.ref, row.starts_at)
        found.setdefault(row.crew, []).append(visit)
    return found


def _tell(plan: Plan, crew: Crew, words: str, now: datetime) -> Notice:
    notice, created = Notice.objects.get_or_create(
        key=f"{PLAN}:{plan.pk}:{crew.pk}",
        defaults={
            "source": PLAN,
            "subject_id": str(plan.pk),
            "since": "1",
            "crew": crew,
            "repair": None,
            "code": PLAN_CHANGED,
            "words": words,
            "due_at": now,
            "sent_at": now,
            "changed_at": now,
            "useful_until": plan.origin + timedelta(days=plan.days + 1),
        },
    )
    if created:
        tell_crew(notice=notice, now=now)
    return notice
