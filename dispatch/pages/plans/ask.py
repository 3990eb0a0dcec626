"""Where plans are asked for, and found again."""

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from dispatch.domain.plan_horizon import day_there
from dispatch.domain.what_if import supposed_from
from dispatch.models import Crew, Plan, PlanRun
from dispatch.pages.hours import usual_zone
from dispatch.pages.plans.ask_form import PRICE, AskForm, first_values
from dispatch.pages.plans.doors import PLANNERS, READERS
from dispatch.pages.plans.plan_words import STATE_MARKS, days_words, supposed_words
from dispatch.pages.plans.refusals import show_on
from dispatch.services.plan_ask import ask_for_plan
from dispatch.services.plan_setup import PRICE_NAMES, refuse_prices
from repairs.domain.problem import Refused
from repairs.pages.clock_words import moment
from repairs.pages.doors import DoorPage, PageDoors, show

A_PAGE = 20


@dataclass(frozen=True, slots=True)
class RunLine:
    """A plan that is being made."""

    id: str
    words: str
    percent: int
    said: str


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A plan in the list."""

    id: str
    days: str
    label: str
    how: str
    state: str
    mark: str
    served: int
    outside: int
    made: str


class PlansPage(DoorPage):
    """All plans, and the way to ask for one."""

    doors: PageDoors = {"GET": READERS, "POST": PLANNERS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show them, the newest first."""
        today = day_there(timezone.now(), usual_zone(_zones()))
        return self._shown(request, AskForm(initial=first_values(today)))

    def post(self, request: HttpRequest) -> HttpResponse:
        """Have a plan made and go and watch it; what was typed stays where it is refused."""
        form = AskForm(request.POST)
        if not form.is_valid():
            return self._shown(request, form, status=422)
        try:
            refuse_prices(form.prices())
            run = ask_for_plan(
                starts_on=form.cleaned_data["starts_on"],
                days=form.days,
                search_s=form.cleaned_data["search_s"],
                label=form.cleaned_data["label"],
                changes=form.changes(),
                by=self.account,
                now=timezone.now(),
            )
        except Refused as refused:
            if "run" not in refused.more:
                boxes = {f"prices.{name}": f"{PRICE}{name}" for name in PRICE_NAMES}
                show_on(form, refused, boxes)
                return self._shown(request, form, status=refused.status)
            link = f"/plan-runs/{refused.more['run']}"
            return self._shown(request, form, refused.detail, link, status=refused.status)
        return redirect(f"/plan-runs/{run.pk}")

    def _shown(
        self,
        request: HttpRequest,
        form: AskForm,
        wrong: str = "",
        link: str = "",
        *,
        status: int = 200,
    ) -> HttpResponse:
        page = Paginator(plans(), A_PAGE).get_page(request.GET.get("page"))
        running = PlanRun.objects.filter(state__in=PlanRun.OPEN)
        context = {
            "form": form,
            "may_ask": self.account.role in PLANNERS,
            "wrong": wrong,
            "wrong_link": link,
            "wrong_link_words": "Look at that one",
            "running": [_run_line(run) for run in running],
            "page": page,
            "lines": [plan_line(row) for row in page],
            "prices_open": any(box.errors for box in form.price_boxes)
            or bool(form.non_field_errors()),
        }
        return show(request, "dispatch/plans/list.html", context, status=status)


def plans() -> QuerySet[Plan]:
    """Return all plans without the weight of their problems, with how many repairs each serves."""
    return (
        Plan.objects.defer("problem")
        .select_related("planned_by")
        .order_by("-planned_at", "-id")
        .annotate(
            served=Count("stops", distinct=True),
            outside=Count("left_out", distinct=True, filter=Q(left_out__refused=False)),
        )
    )


def plan_line(row: Plan) -> PlanLine:
    """Return a plan as the list shows it; it must come from `plans`."""
    those = supposed_from(row.changes).those
    how = "; ".join(supposed_words(each) for each in those)
    if row.method == "by hand":
        how = f"put right by hand; {how}" if how else "put right by hand"
    return PlanLine(
        id=str(row.pk),
        days=days_words(row.starts_on, row.days),
        label=row.label,
        how=how,
        state=row.state,
        mark=STATE_MARKS[row.state],
        served=row.served,  # type: ignore[attr-defined]
        outside=row.outside,  # type: ignore[attr-defined]
        made=f"{moment(row.planned_at, row.zone)} by {row.planned_by.display_name}",
    )


def _run_line(run: PlanRun) -> RunLine:
    words = days_words(run.starts_on, run.days)
    return RunLine(str(run.pk), words, run.percent, run.said or run.state)


def _zones() -> list[str]:
    return list(Crew.objects.values_list("time_zone", flat=True))
