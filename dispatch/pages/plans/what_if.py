"""What if: something is supposed, and a plan is made with it beside the one there is."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.models import Plan
from dispatch.pages.plans.doors import PLANNERS
from dispatch.pages.plans.plan_page import plan_head, related
from dispatch.pages.plans.refusals import show_on
from dispatch.pages.plans.what_if_form import WhatIfForm, first_values
from dispatch.services.plan_what_if import make_what_if
from repairs.domain.problem import Refused
from repairs.pages.doors import DoorPage, PageDoors, show


class WhatIfPage(DoorPage):
    """The boxes, and the plans that were made so already."""

    doors: PageDoors = {"GET": PLANNERS, "POST": PLANNERS}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Show the boxes, all open."""
        plan = get_object_or_404(Plan, pk=plan_id)
        return self._shown(request, plan, WhatIfForm(plan, initial=first_values()))

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Have it made and go and watch; what was typed stays where it is refused."""
        plan = get_object_or_404(Plan, pk=plan_id)
        form = WhatIfForm(plan, request.POST)
        if not form.is_valid():
            return self._shown(request, plan, form, status=422)
        try:
            run = make_what_if(
                plan=plan,
                changes=form.changes(),
                label=form.cleaned_data["label"],
                search_s=form.cleaned_data["search_s"],
                by=self.account,
                now=timezone.now(),
            )
        except Refused as refused:
            if "run" not in refused.more:
                show_on(form, refused, {"prices": "price_min"})
                return self._shown(request, plan, form, status=refused.status)
            link = f"/plan-runs/{refused.more['run']}"
            return self._shown(request, plan, form, refused.detail, link, status=refused.status)
        return redirect(f"/plan-runs/{run.pk}")

    def _shown(
        self,
        request: HttpRequest,
        plan: Plan,
        form: WhatIfForm,
        *refused: str,
        status: int = 200,
    ) -> HttpResponse:
        context = {
            "head": plan_head(plan, self.account),
            "form": form,
            "related": related(plan),
            "wrong": refused[0] if refused else "",
            "wrong_link": refused[1] if refused else "",
            "wrong_link_words": "Look at that one",
        }
        return show(request, "dispatch/plans/what_if.html", context, status=status)
