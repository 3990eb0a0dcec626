"""Watching a plan being made, and calling it off."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.domain.what_if import supposed_from
from dispatch.models import PlanRun
from dispatch.pages.plans.doors import PLANNERS, READERS
from dispatch.pages.plans.plan_words import STATE_MARKS, days_words, supposed_words
from dispatch.services.plan_ask import cancel_run
from repairs.pages.doors import DoorPage, PageDoors, show


class WatchPage(DoorPage):
    """One run: how far it is, and the button that ends it."""

    doors: PageDoors = {"GET": READERS, "POST": PLANNERS}

    def get(self, request: HttpRequest, plan_run_id: UUID) -> HttpResponse:
        """Show how far it is; a browser without scripts loads the page again by itself."""
        run = get_object_or_404(PlanRun.objects.select_related("asked_by"), pk=plan_run_id)
        context = {
            "run": run,
            "title": days_words(run.starts_on, run.days),
            "mark": STATE_MARKS[run.state],
            "open": run.state in PlanRun.OPEN,
            "supposed": [supposed_words(each) for each in supposed_from(run.changes).those],
            "then": _then(run),
            "may_cancel": self.account.role in PLANNERS,
        }
        return show(request, "dispatch/plans/watch.html", context)

    def post(self, request: HttpRequest, plan_run_id: UUID) -> HttpResponse:  # noqa: ARG002
        """Call it off; the best plan so far is kept."""
        run = get_object_or_404(PlanRun, pk=plan_run_id)
        cancel_run(run=run, now=timezone.now())
        return redirect(f"/plan-runs/{run.pk}")


def _then(run: PlanRun) -> str:
    """Return where to go when it is done: beside the plan it was made from, or to itself."""
    if run.plan_id is None:
        return ""
    if run.derived_from_id is not None and run.changes:
        return f"/plans/beside?plan={run.derived_from_id}&plan={run.plan_id}"
    return f"/plans/{run.plan_id}"
