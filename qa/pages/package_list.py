"""All packages one may see: found again by state, reference or run."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

from qa.models import ClientAnswer, CloseoutPackage
from qa.pages.collected import COLLECTORS, CollectForm, collect, collected_sheet
from qa.pages.verdict_lines import verdict_line
from qa.selectors import visible_packages
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.pages.clock_words import moment
from repairs.pages.doors import BOARD, DoorPage, PageDoors, show
from repairs.pages.marks import mark_of

READERS = BOARD | {Role.CLIENT}
A_PAGE = 25

BUILDING, WAITING = "being built", "waiting for an answer"
STATES: Mapping[str, Q] = {
    BUILDING: Q(ready_at__isnull=True),
    WAITING: Q(ready_at__isnull=False, client_answer__isnull=True),
    "accepted": Q(client_answer__answer=ClientAnswer.ACCEPTED),
    "returned": Q(client_answer__answer=ClientAnswer.RETURNED),
}
"""Each state a package can be in, and how it is found."""


class FilterForm(forms.Form):
    """What is looked for."""

    state = forms.ChoiceField(choices=[(word, word) for word in STATES], required=False)
    find = forms.CharField(max_length=100, required=False)


@dataclass(frozen=True, slots=True)
class PackageLine:
    """A package in the list."""

    id: str
    ref: str
    attempt: int
    several: bool
    run: str
    street: str
    order: str
    customer: str
    closed: str
    state: str
    mark: str
    waived: int


class PackageListPage(DoorPage):
    """The list, and what was collected of it."""

    doors: PageDoors = {"GET": READERS, "POST": COLLECTORS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the packages that were looked for, the newest first."""
        return self._page(request, {}, "", 200)

    def post(self, request: HttpRequest) -> HttpResponseBase:
        """Have an order or a month collected, or say why not and keep what was typed."""
        form = CollectForm(request.POST)
        if not form.is_valid():
            return self._page(request, request.POST, form.wrong(), 422)
        try:
            collect(form.cleaned_data, by=self.account, now=timezone.now())
        except Refused as refused:
            return self._page(request, request.POST, refused.detail, refused.status)
        return redirect("/packages#collected")

    def _page(
        self, request: HttpRequest, typed: Mapping[str, Any], refused: str, status: int
    ) -> HttpResponse:
        form = FilterForm(request.GET)
        asked = form.cleaned_data if form.is_valid() else {}
        state, find = str(asked.get("state", "")), str(asked.get("find", "")).strip()
        rows = found(visible_packages(self.account), state=state, find=find)
        page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
        context = {
            "page": page,
            "lines": [package_line(row) for row in page],
            "states": tuple(STATES),
            "state": state,
            "find": find,
            "wrong": "" if form.is_valid() else "That cannot be looked for; here are all of them.",
            "collected": collected_sheet(self.account, now=timezone.now()),
            "typed": {name: str(typed.get(name, "")) for name in CollectForm.base_fields},
            "refused": refused,
            "now": timezone.now(),
        }
        return show(request, "qa/package_list.html", context, status=status)


def found(rows: QuerySet[CloseoutPackage], *, state: str, find: str) -> QuerySet[CloseoutPackage]:
    """Return the packages in a state whose repair, run, street or order has these letters."""
    rows = rows.select_related("closing__repair__run__site", "client_answer")
    if state:
        rows = rows.filter(STATES[state])
    if find:
        rows = rows.filter(
            Q(closing__repair__ref__icontains=find)
            | Q(closing__repair__run__ref__icontains=find)
            | Q(closing__repair__run__site__street__icontains=find)
            | Q(closing__repair__work_order__number__icontains=find)
        )
    return rows.order_by("-requested_at", "id")


def state_of(row: CloseoutPackage) -> str:
    """Return the state of a package, in the words of the filter."""
    if row.ready_at is None:
        return BUILDING
    answer: ClientAnswer | None = getattr(row, "client_answer", None)
    return WAITING if answer is None else answer.answer


def package_line(row: CloseoutPackage) -> PackageLine:
    """Return a package as the list shows it."""
    closing, repair = row.closing, row.closing.repair
    state, zone = state_of(row), repair.run.site.time_zone
    return PackageLine(
        id=str(row.pk),
        ref=repair.ref,
        attempt=closing.attempt,
        several=repair.attempt > 1,
        run=repair.run.ref,
        street=repair.run.site.street,
        order=repair.work_order.number,
        customer=repair.work_order.customer.name,
        closed=moment(closing.closed_at, zone),
        state=state,
        mark=mark_of(state),
        waived=sum(verdict_line(each, zone).waived for each in closing.verdicts),
    )
