"""One repair of a plan: put elsewhere, left out, or pinned for all plans."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.models import Pin, Plan
from dispatch.pages.plans.change_form import PinForm, PutForm
from dispatch.pages.plans.doors import PLANNERS
from dispatch.pages.plans.plan_page import plan_head
from dispatch.pages.plans.plan_words import clock_words, day_words
from dispatch.pages.plans.refusals import reasons_of, show_on
from dispatch.selectors import visible_repairs
from dispatch.services.plan_by_hand import Put, move_stop
from dispatch.services.plan_setup import pin_repair, unpin
from repairs.domain.problem import Refused
from repairs.models import Repair
from repairs.pages.doors import DoorPage, PageDoors, show

PIN = "pin"


@dataclass(frozen=True, slots=True)
class _Shown:
    """The forms as they were typed, and what was wrong."""

    put: PutForm
    pin: PinForm
    refused: Refused | None = None
    status: int = 200


class ChangePage(DoorPage):
    """Everything that may be done with one repair of a plan."""

    doors: PageDoors = {"GET": PLANNERS, "POST": PLANNERS}

    def get(self, request: HttpRequest, plan_id: UUID, repair_id: UUID) -> HttpResponse:
        """Show where it stands, and the ways to change that."""
        plan, repair = self._both(plan_id, repair_id)
        return self._shown(request, plan, repair, self._fresh(plan, repair))

    def post(self, request: HttpRequest, plan_id: UUID, repair_id: UUID) -> HttpResponse:
        """Do what was asked for: a new draft, or every reason against it."""
        plan, repair = self._both(plan_id, repair_id)
        acts: Mapping[str, Callable[[HttpRequest, Plan, Repair], HttpResponse]] = {
            "leave": self._leave,
            "pin": self._pin,
            "unpin": self._unpin,
        }
        act = acts.get(request.POST.get("act", ""), self._put)
        return act(request, plan, repair)

    def _put(self, request: HttpRequest, plan: Plan, repair: Repair) -> HttpResponse:
        form = PutForm(plan, request.POST)
        shown = _Shown(form, self._fresh(plan, repair).pin, status=422)
        if not form.is_valid():
            return self._shown(request, plan, repair, shown)
        said = form.cleaned_data
        instead_of = _instead_of(plan, request.POST.get("instead_of", ""))
        put = Put(said["crew"], form.day, said["number"], instead_of, pin=said["keep"])
        try:
            draft = move_stop(
                plan=plan, repair=repair, put=put, by=self.account, now=timezone.now()
            )
        except Refused as refused:
            if not refused.reasons:
                show_on(form, refused)
            shown = _Shown(form, shown.pin, refused, refused.status)
            return self._shown(request, plan, repair, shown)
        return redirect(f"/plans/{draft.pk}")

    def _leave(self, request: HttpRequest, plan: Plan, repair: Repair) -> HttpResponse:
        fresh = self._fresh(plan, repair)
        try:
            draft = move_stop(
                plan=plan, repair=repair, put=Put(None), by=self.account, now=timezone.now()
            )
        except Refused as refused:
            shown = _Shown(fresh.put, fresh.pin, refused, refused.status)
            return self._shown(request, plan, repair, shown)
        return redirect(f"/plans/{draft.pk}")

    def _pin(self, request: HttpRequest, plan: Plan, repair: Repair) -> HttpResponse:
        form = PinForm(request.POST, prefix=PIN)
        if not form.is_valid():
            shown = _Shown(self._fresh(plan, repair).put, form, status=422)
            return self._shown(request, plan, repair, shown)
        said = form.cleaned_data
        try:
            pin_repair(
                repair=repair,
                crew=said["crew"],
                on=said["on"],
                reason=said["reason"],
                by=self.account,
                now=timezone.now(),
            )
        except Refused as refused:
            show_on(form, refused)
            shown = _Shown(self._fresh(plan, repair).put, form, status=refused.status)
            return self._shown(request, plan, repair, shown)
        return redirect(f"/plans/{plan.pk}/repairs/{repair.pk}")

    def _unpin(self, request: HttpRequest, plan: Plan, repair: Repair) -> HttpResponse:  # noqa: ARG002
        for pin in Pin.objects.filter(repair=repair):
            unpin(pin=pin)
        return redirect(f"/plans/{plan.pk}/repairs/{repair.pk}")

    def _both(self, plan_id: UUID, repair_id: UUID) -> tuple[Plan, Repair]:
        plan = get_object_or_404(Plan, pk=plan_id)
        return plan, get_object_or_404(visible_repairs(self.account), pk=repair_id)

    def _fresh(self, plan: Plan, repair: Repair) -> _Shown:
        """Return the forms as they are first seen: where it stands, and how it is pinned."""
        stop = plan.stops.select_related("crew").filter(repair=repair).first()
        first = {"on": plan.starts_on.isoformat()}
        if stop is not None:
            first = {"crew": stop.crew.code, "on": stop.on.isoformat()}
        pin = Pin.objects.select_related("crew").filter(repair=repair).first()
        pinned = {}
        if pin is not None:
            code = pin.crew.code if pin.crew else ""
            pinned = {"crew": code, "on": pin.on, "reason": pin.reason}
        return _Shown(PutForm(plan, initial=first), PinForm(initial=pinned, prefix=PIN))

    def _shown(
        self, request: HttpRequest, plan: Plan, repair: Repair, shown: _Shown
    ) -> HttpResponse:
        pin = Pin.objects.select_related("crew", "pinned_by").filter(repair=repair).first()
        context = {
            "head": plan_head(plan, self.account),
            "repair": repair,
            "stands": stands_words(plan, repair),
            "in_plan": plan.stops.filter(repair=repair).exists(),
            "put": shown.put,
            "pin_form": shown.pin,
            "pin": pin,
            "pin_words": pin_words(pin),
            "wrong": "It cannot be done:" if shown.refused and shown.refused.reasons else "",
            "reasons": reasons_of(shown.refused) if shown.refused else (),
        }
        return show(request, "dispatch/plans/change.html", context, status=shown.status)


def stands_words(plan: Plan, repair: Repair) -> str:
    """Return where a repair stands in a plan."""
    stop = plan.stops.select_related("crew").filter(repair=repair).first()
    if stop is not None:
        zone = stop.crew.time_zone
        hours = f"{clock_words(stop.starts_at, zone)} to {clock_words(stop.ends_at, zone)}"
        return f"{stop.crew.name}, {day_words(stop.on)}, stop {stop.number}, {hours}"
    row = plan.left_out.filter(repair=repair).first()
    if row is None:
        return "not in this plan"
    return "not to be planned yet" if row.refused else "left out"


def pin_words(pin: Pin | None) -> str:
    """Return what a pin says."""
    if pin is None:
        return ""
    where = [pin.crew.name if pin.crew else "", day_words(pin.on) if pin.on else ""]
    return ", ".join(each for each in where if each)


def _instead_of(plan: Plan, sent: str) -> Repair | None:
    """Return the repair of the plan that a way in takes the place of."""
    try:
        stop = plan.stops.select_related("repair").filter(repair=UUID(sent)).first()
    except ValueError:
        return None
    return stop.repair if stop is not None else None
