"""Reads of warranties: which accepted repairs are to be looked at again, and by when."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from dispatch.domain.terms import Terms, months_after, terms_from
from dispatch.models import Notice
from qa.domain.warranty import State, Warranty, warranty
from qa.models import ClientAnswer
from qa.selectors import visible_packages
from repairs.domain.natural import natural
from repairs.models import Account, Repair, RequirementSet

REMINDER = "warranty_inspection_due"
_OTHER_ZONE = timedelta(days=2)
"""A day in any zone lies within this of the same day in UTC, and the end of a month besides."""
_LONGEST_SHORTER_MONTH = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class Inspection:
    """An accepted repair whose warranty ends, and what was told of it."""

    answer_id: UUID
    repair: Repair
    attempt: int
    warranty: Warranty
    state: State
    reminded_at: datetime | None


def inspections(
    account: Account, *, since: date, until: date, now: datetime
) -> tuple[Inspection, ...]:
    """Return those to be looked at by a day whose warranty does not end before another day.

    Parameters
    ----------
    since : date
        The warranty ends on that day or later.
    until : date
        Its inspection is due on that day or earlier.
    """
    found = [
        (row, days)
        for row, days in _warranties(account, since, until)
        if days.ends_on >= since and days.inspect_from <= until
    ]
    told = _reminded({row.package.closing.repair_id for row, _ in found})
    lines = (_inspection(row, days, told, now) for row, days in found)
    return tuple(
        sorted(
            lines,
            key=lambda e: (e.warranty.inspect_from, natural(e.repair.ref), e.attempt),
        )
    )


def _warranties(
    account: Account, since: date, until: date
) -> Iterator[tuple[ClientAnswer, Warranty]]:
    for terms, contracts in _contracts().items():
        rows = _accepted(account).filter(
            package__closing__repair__work_order__requirement_set__in=contracts,
            answered_at__gte=_utc(months_after(since, -terms.warranty_months), -1),
            answered_at__lte=_utc(
                months_after(
                    until + timedelta(days=terms.warranty_lead_days), -terms.warranty_months
                ),
                +1,
            ),
        )
        for row in rows.iterator():
            zone = ZoneInfo(row.package.closing.repair.run.site.time_zone)
            days = warranty(row.answered_at.astimezone(zone).date(), terms)
            if days is not None:
                yield row, days


def _contracts() -> dict[Terms, list[UUID]]:
    """Return the contracts by what they say of the warranty; most say the same."""
    found: dict[Terms, list[UUID]] = defaultdict(list)
    for pk, terms in RequirementSet.objects.values_list("pk", "terms"):
        read = terms_from(terms)
        if read.warranty_months:
            found[read].append(pk)
    return found


def _accepted(account: Account) -> QuerySet[ClientAnswer]:
    own = visible_packages(account).order_by().values("pk")
    return ClientAnswer.objects.filter(
        answer=ClientAnswer.ACCEPTED, package__in=own
    ).select_related(
        "package__closing__repair__run__site", "package__closing__repair__work_order__customer"
    )


def _utc(day: date, sign: int) -> datetime:
    margin = sign * (_OTHER_ZONE + _LONGEST_SHORTER_MONTH)
    return datetime.combine(day, time(), UTC) + margin


def _reminded(repairs: set[UUID]) -> dict[tuple[UUID, str], datetime]:
    rows = Notice.objects.filter(repair__in=repairs, code=REMINDER).order_by("-sent_at")
    return {(row.repair_id, row.since): row.sent_at for row in rows if row.repair_id}


def _inspection(
    row: ClientAnswer,
    days: Warranty,
    told: dict[tuple[UUID, str], datetime],
    now: datetime,
) -> Inspection:
    closing = row.package.closing
    zone = ZoneInfo(closing.repair.run.site.time_zone)
    return Inspection(
        answer_id=row.pk,
        repair=closing.repair,
        attempt=closing.attempt,
        warranty=days,
        state=days.state(now.astimezone(zone).date()),
        reminded_at=told.get((closing.repair_id, str(closing.attempt))),
    )
