"""The board: the day of dispatch, and beside it what has to be proved and answered.

It stands here and not with dispatch because it shows matters of qa, too.
"""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from dispatch.models import Assignment
from dispatch.pages.board_day import MOST_ROWS, board_day
from dispatch.pages.inbox import open_notices
from dispatch.pages.past_spans import over_and_not_begun
from dispatch.selectors import visible_repairs, visible_set_aside
from qa.models import CloseoutPackage, Nonconformance
from qa.pages.package_list import BUILDING, STATES, WAITING
from qa.pages.verdict_lines import sentence
from qa.selectors import visible_packages
from repairs.models import Account
from repairs.pages.clock_words import hour, moment, offset, span
from repairs.pages.doors import BOARD, DoorPage, PageDoors, show
from repairs.pages.marks import STAGE_MARKS


@dataclass(frozen=True, slots=True)
class ToDecide:
    """A nonconformance that nobody has decided on."""

    repair_id: str
    ref: str
    words: str
    since: str


@dataclass(frozen=True, slots=True)
class TimeOver:
    """An assignment whose time is over while nobody reported being there."""

    repair_id: str
    ref: str
    crew: str
    street: str
    until: str


@dataclass(frozen=True, slots=True)
class ToAnswer:
    """A package the client has not answered yet."""

    package_id: str
    ref: str
    customer: str
    since: str


class BoardPage(DoorPage):
    """Today at a glance."""

    doors: PageDoors = {"GET": BOARD}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the day."""
        now = timezone.now()
        day = board_day(self.account, now=now)
        decide = _undecided(self.account)
        waiting = _packages(self.account, WAITING)
        over = over_and_not_begun(self.account, now=now)
        context = {
            "day": day,
            "inbox": open_notices(self.account, now=now),
            "over": [_time_over(row) for row in over[:MOST_ROWS]],
            "over_count": over.count(),
            "decide": [_to_decide(row) for row in decide[:MOST_ROWS]],
            "decide_count": decide.count(),
            "answer": [_to_answer(row, now) for row in waiting[:MOST_ROWS]],
            "answer_count": waiting.count(),
            "building_count": _packages(self.account, BUILDING).count(),
            "aside_count": visible_set_aside(self.account).filter(settled_at__isnull=True).count(),
            "now": now,
            "at": hour(now, day.axis.zone, now=now),
            "today": f"{now.astimezone(ZoneInfo(day.axis.zone)):%A %d %B}",
            "offset": offset(now, day.axis.zone),
            "key": tuple(STAGE_MARKS.items()),
        }
        return show(request, "qa/board.html", context)


def _undecided(account: Account) -> QuerySet[Nonconformance]:
    return Nonconformance.objects.select_related("repair__run__site").filter(
        repair__in=visible_repairs(account).values("pk"), withdrawn_at__isnull=True, disposition=""
    )


def _packages(account: Account, state: str) -> QuerySet[CloseoutPackage]:
    return visible_packages(account).filter(STATES[state]).order_by("ready_at", "id")


def _time_over(row: Assignment) -> TimeOver:
    site = row.repair.run.site
    until = moment(row.ends_at, site.time_zone)
    return TimeOver(str(row.repair_id), row.repair.ref, row.crew.name, site.street, until)


def _to_decide(row: Nonconformance) -> ToDecide:
    zone = row.repair.run.site.time_zone
    return ToDecide(
        str(row.repair_id), row.repair.ref, sentence(row.words, zone), moment(row.opened_at, zone)
    )


def _to_answer(row: CloseoutPackage, now: datetime) -> ToAnswer:
    repair = row.closing.repair
    waits = now - (row.ready_at or now)
    days = waits.days
    words = f"{days} day{'s' if days > 1 else ''}" if days else span(waits.total_seconds() / 60)
    return ToAnswer(str(row.pk), repair.ref, repair.work_order.customer.name, words)
