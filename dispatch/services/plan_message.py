"""Tells each crew what a published plan changes for it: one message, and only where it must."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from dispatch.domain.plan_news import news_for
from dispatch.models import Assignment, Crew, Notice, Plan
from dispatch.plan_facts.crew_news import visits_by_crew
from dispatch.services.escalate import settle, tell_crew

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
    was, will = visits_by_crew(before), visits_by_crew(after)
    told = []
    for crew in sorted({*was, *will}, key=lambda each: each.code):
        words = news_for(was.get(crew, ()), will.get(crew, ()), crew.time_zone)
        if words:
            told.append(_tell(plan, crew, words, now))
    return tuple(told)


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
        _settle_older(plan, notice, now)
        tell_crew(notice=notice, now=now)
    return notice


def _settle_older(plan: Plan, notice: Notice, now: datetime) -> None:
    """Ask nobody to acknowledge what this notice replaces: an older plan's, of the same days.

    What the older one says of a day after this plan still stands, and then so does the notice.
    """
    older = Notice.objects.filter(
        source=PLAN, crew=notice.crew, acknowledged_at__isnull=True, settled_at__isnull=True
    ).exclude(pk=notice.pk)
    plans = Plan.objects.in_bulk([UUID(each.subject_id) for each in older])
    today = now.astimezone(ZoneInfo(plan.zone)).date()
    for each in older:
        its = plans.get(UUID(each.subject_id))
        if (
            its is None
            or _last_day(its) < today
            or (_last_day(its) <= _last_day(plan) and plan.starts_on <= max(its.starts_on, today))
        ):
            settle(notice=each, now=now)


def _last_day(plan: Plan) -> date:
    return plan.starts_on + timedelta(days=plan.days - 1)
