"""The page of one repair: for the crew first, then for whoever judges it."""

from collections.abc import Callable, Mapping
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.pages.inbox import open_notices
from dispatch.selectors import visible_repairs
from qa.pages.decision_boxes import Typed
from qa.pages.doing_again import out_of_date
from qa.pages.repair_sheet import repair_sheet
from qa.pages.review_desk import DECIDERS, JUDGES, review_desk
from qa.pages.review_forms import (
    FORMS,
    DecideForm,
    DoneForm,
    SeenForm,
    WithdrawForm,
    carry_out,
    carry_out_decision,
    carry_out_done,
    carry_out_withdrawal,
    reasons_of,
    wrong_with,
)
from qa.services.report_seen import report_seen
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.models import Repair
from repairs.pages.doors import PEOPLE, DoorPage, PageDoors, show


class _Shown(DoorPage):
    """What the page is shown by, whether it was opened or something on it was sent."""

    def _repair(self, repair_id: UUID) -> Repair:
        return get_object_or_404(visible_repairs(self.account), pk=repair_id)

    def _page(
        self,
        request: HttpRequest,
        repair: Repair,
        attempt: int,
        *,
        typed: Typed = Typed(),  # noqa: B008 - frozen
        wrong: tuple[str, ...] = (),
        asking: bool = False,
        status: int = 200,
    ) -> HttpResponse:
        now = timezone.now()
        sheet = repair_sheet(self.account, repair, attempt=attempt, now=now)
        context = {
            "sheet": sheet,
            "desk": review_desk(self.account, repair, sheet, typed, asking=asking, now=now),
            "wrong": wrong,
            "typed": typed,
            "attempts": range(1, repair.attempt + 1),
            "inbox": open_notices(self.account, now=now, repair=repair),
            "now": now,
        }
        return show(request, "qa/repair.html", context, status=status)

    def _act(
        self,
        request: HttpRequest,
        repair: Repair,
        act: str,
        kind: type[forms.Form],
        do: Callable[[Mapping[str, Any]], None],
        *,
        back_to: str = "review",
    ) -> HttpResponseBase:
        """Do what was asked for, or say all that is wrong and keep what was typed."""
        form = kind(request.POST)
        words = {name: str(request.POST.get(name, "")) for name in form.fields}
        typed = Typed(act, words, frozenset(request.POST.getlist("evidence")))
        wrong, status = wrong_with(form), 422
        shown = request.POST.get("attempt", "")
        if shown != str(repair.attempt):
            wrong, status = (out_of_date(repair, shown),), 409
        if not wrong:
            try:
                do(form.cleaned_data)
            except Refused as refused:
                wrong = reasons_of(refused, repair.run.site.time_zone)
                status = refused.status
            else:
                return redirect(f"/repairs/{repair.pk}#{back_to}")
        repair.refresh_from_db()
        return self._page(request, repair, repair.attempt, typed=typed, wrong=wrong, status=status)


class _Sent(_Shown):
    """What was sent from the page."""

    def after_login(self, request: HttpRequest) -> str:
        """Lead back to the repair."""
        return request.path.rpartition("/")[0]


class RepairPage(_Shown):
    """A repair, at the attempt under way or at ``?attempt=``."""

    doors: PageDoors = {"GET": PEOPLE}

    def get(self, request: HttpRequest, repair_id: UUID) -> HttpResponse:
        """Show it; with ``?sure=close`` it asks once more before it closes."""
        repair = self._repair(repair_id)
        attempt = _attempt(request.GET.get("attempt", ""), repair)
        return self._page(request, repair, attempt, asking=request.GET.get("sure") == "close")


class JudgePage(_Sent):
    """The same page, after somebody waived, judged, looked through or closed."""

    doors: PageDoors = {"POST": JUDGES}

    def post(self, request: HttpRequest, repair_id: UUID, act: str) -> HttpResponseBase:
        """Do it, or say why not."""
        repair = self._repair(repair_id)

        def do(typed: Mapping[str, Any]) -> None:
            carry_out(act, repair, typed, by=self.account, now=timezone.now())

        return self._act(request, repair, act, FORMS[act], do)


class DecidePage(_Sent):
    """The same page, after somebody decided on a nonconformance."""

    doors: PageDoors = {"POST": DECIDERS}

    def post(self, request: HttpRequest, repair_id: UUID) -> HttpResponseBase:
        """Record it, or say why not."""
        repair = self._repair(repair_id)

        def do(typed: Mapping[str, Any]) -> None:
            carry_out_decision(repair, typed, by=self.account, now=timezone.now())

        return self._act(request, repair, "decide", DecideForm, do)


class DonePage(_Sent):
    """The same page, after somebody said that a decision is carried out."""

    doors: PageDoors = {"POST": DECIDERS}

    def post(self, request: HttpRequest, repair_id: UUID) -> HttpResponseBase:
        """Record it, or say why not."""
        repair = self._repair(repair_id)

        def do(typed: Mapping[str, Any]) -> None:
            carry_out_done(repair, typed, by=self.account, now=timezone.now())

        return self._act(request, repair, "done", DoneForm, do)


class SeenPage(_Sent):
    """The same page, after somebody reported something that is not as required."""

    doors: PageDoors = {"POST": PEOPLE - {Role.CLIENT}}

    def post(self, request: HttpRequest, repair_id: UUID) -> HttpResponseBase:
        """Record it, or say why not."""
        repair = self._repair(repair_id)

        def do(typed: Mapping[str, Any]) -> None:
            report_seen(repair=repair, **typed, by=self.account, now=timezone.now())

        return self._act(request, repair, "seen", SeenForm, do, back_to="nonconformances")


class WithdrawPage(_Sent):
    """The same page, after somebody withdrew what was reported by a slip."""

    doors: PageDoors = {"POST": PEOPLE - {Role.CLIENT}}

    def post(self, request: HttpRequest, repair_id: UUID) -> HttpResponseBase:
        """Withdraw it, or say why not."""
        repair = self._repair(repair_id)

        def do(typed: Mapping[str, Any]) -> None:
            carry_out_withdrawal(repair, typed, by=self.account, now=timezone.now())

        return self._act(request, repair, "withdraw", WithdrawForm, do, back_to="nonconformances")


def _attempt(asked: str, repair: Repair) -> int:
    known = {str(number): number for number in range(1, repair.attempt + 1)}
    return known.get(asked, repair.attempt)
