"""Before the crews are told: their very words, and one button. Afterwards: who was told."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.domain.reminder import Rung
from dispatch.models import Message, Notice, Plan
from dispatch.pages.plans.doors import PLANNERS, READERS
from dispatch.pages.plans.plan_page import plan_head
from dispatch.pages.plans.refusals import reason_lines, reasons_of
from dispatch.plan_facts.crew_news import CrewNews, news_before_publishing
from dispatch.selectors import people_of
from dispatch.services.plan_message import PLAN
from dispatch.services.plan_publish import publish_plan, reasons_against
from repairs.domain.problem import Refused
from repairs.pages.clock_words import moment
from repairs.pages.doors import DoorPage, PageDoors, show

_STALE = "It no longer holds, and cannot be published:"
_NOT_DONE = "It no longer holds, and nothing of it was published:"


@dataclass(frozen=True, slots=True)
class CrewTold:
    """A crew, each line it is told with its shape, and to whom; without a line, nothing."""

    crew: str
    lines: tuple[tuple[str, str], ...]
    whom: str
    answer: str = ""


class PublishPage(DoorPage):
    """What the crews will be told, or were."""

    doors: PageDoors = {"GET": READERS, "POST": PLANNERS}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Show the words to each crew, or why there are none: it no longer holds."""
        plan = get_object_or_404(Plan, pk=plan_id)
        if plan.state != Plan.DRAFT:
            return self._shown(request, plan)
        reasons = reasons_against(plan=plan, now=timezone.now())
        return self._shown(request, plan, _STALE, reason_lines(reasons))

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Send the crews, or show every reason why the plan no longer holds."""
        plan = get_object_or_404(Plan, pk=plan_id)
        try:
            publish_plan(plan=plan, by=self.account, now=timezone.now())
        except Refused as refused:
            reasons = reasons_of(refused) or (refused.detail,)
            return self._shown(request, plan, _NOT_DONE, reasons, refused.status)
        return redirect(f"/plans/{plan.pk}/publish")

    def _shown(
        self,
        request: HttpRequest,
        plan: Plan,
        wrong: str = "",
        reasons: tuple[str, ...] = (),
        status: int = 200,
    ) -> HttpResponse:
        """Show it; what no longer holds has no words for anybody, and no button."""
        draft = plan.state == Plan.DRAFT
        head = plan_head(plan, self.account)
        crews: Iterable[CrewTold] = () if reasons else _will_be_told(plan)
        context = {
            "head": head,
            "draft": draft,
            "stale": draft and bool(reasons),
            "may_plan": head.may_change,
            "may_publish": head.may_publish and not reasons,
            "crews": tuple(crews if draft else _was_told(plan)),
            "published": _published(plan),
            "wrong": wrong if reasons else "",
            "reasons": reasons,
        }
        return show(request, "dispatch/plans/publish.html", context, status=status)


def _will_be_told(plan: Plan) -> Iterable[CrewTold]:
    for news in news_before_publishing(plan):
        yield CrewTold(news.crew.name, _lines(news.words), _people(news))


def _lines(words: str) -> tuple[tuple[str, str], ...]:
    """Return each line with the shape of its kind."""
    marks = {"New": "circle", "Moved": "glass", "Changed": "glass", "No longer yours": "cross"}
    return tuple((marks.get(line.split(":")[0], "dot"), line) for line in words.splitlines())


def _people(news: CrewNews) -> str:
    people = people_of(Rung.CREW_LEAD, crew=news.crew, now=timezone.now())
    return ", ".join(person.display_name for person in people)


def _was_told(plan: Plan) -> Iterable[CrewTold]:
    rows = Notice.objects.filter(source=PLAN, subject_id=str(plan.pk), crew__isnull=False)
    for notice in rows.select_related("crew", "acknowledged_by").order_by("crew__code"):
        assert notice.crew is not None  # noqa: S101 - asked for
        zone = notice.crew.time_zone
        taken = notice.acknowledged_by
        yield CrewTold(
            notice.crew.name,
            _lines(notice.words),
            "; ".join([f"on the crew's page {moment(notice.sent_at, zone)}", *_messages(notice)]),
            f"{taken.display_name} has read it" if taken else "not acknowledged yet",
        )


def _messages(notice: Notice) -> Iterable[str]:
    rows = Message.objects.filter(notice=notice).select_related("contact__account")
    for row in rows.order_by("created_at", "id"):
        name, channel = row.contact.account.display_name, row.contact.channel
        yield f"{name} by {channel} {'sent' if row.sent_at else 'on its way'}"


def _published(plan: Plan) -> str:
    if plan.published_at is None or plan.published_by is None:
        return ""
    return f"{moment(plan.published_at, plan.zone)} by {plan.published_by.display_name}"
