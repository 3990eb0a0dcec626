"""Reports that could not be taken: what came, why not, and two buttons."""

import json
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.models import SetAside
from dispatch.selectors import visible_repairs, visible_set_aside
from dispatch.services.set_aside import drop, send_again
from repairs.domain.problem import Refused
from repairs.domain.roles import CREW, Role
from repairs.models import Account, Repair
from repairs.pages.clock_words import moment
from repairs.pages.doors import BOARD, DoorPage, PageDoors, show

MOST_ROWS = 50
SETTLERS = CREW | {Role.DISPATCHER}


@dataclass(frozen=True, slots=True)
class Kept:
    """One report."""

    id: str
    what: str
    repair: str
    who: str
    came: str
    detail: str
    faults: tuple[str, ...]
    sent: str
    wrong: str = ""
    typed: str = ""


class SetAsidePage(DoorPage):
    """What waits for a person."""

    doors: PageDoors = {"GET": BOARD | CREW, "POST": SETTLERS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the open ones, oldest first."""
        return self._shown(request)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Take one again as it is, or drop it with a reason; what was typed stays."""
        row = get_object_or_404(visible_set_aside(self.account), pk=_id(request))
        reason = request.POST.get("reason", "").strip()
        wrong = ""
        try:
            if "drop" not in request.POST:
                send_again(row=row, mended=None, by=self.account, now=timezone.now())
            elif reason:
                drop(row=row, reason=reason[:500], by=self.account, now=timezone.now())
            else:
                wrong = "Say why nothing comes of it."
        except Refused as refused:
            wrong = f"Still not taken: {refused.detail}"
        return self._shown(request, row, wrong, reason) if wrong else redirect("/set-aside")

    def _shown(
        self, request: HttpRequest, at: SetAside | None = None, wrong: str = "", typed: str = ""
    ) -> HttpResponse:
        open_ones = visible_set_aside(self.account).filter(settled_at__isnull=True)
        rows = [
            kept(row, self.account, *(wrong, typed) if at and row.pk == at.pk else ("", ""))
            for row in open_ones[:MOST_ROWS]
        ]
        context = {
            "rows": rows,
            "count": open_ones.count(),
            "may_settle": self.account.role in SETTLERS,
        }
        return show(request, "dispatch/set_aside.html", context, status=422 if wrong else 200)


def kept(row: SetAside, account: Account, wrong: str = "", typed: str = "") -> Kept:
    """Return a report as the page says it."""
    sent = json.loads(row.body)
    told: dict[str, Any] = sent if isinstance(sent, dict) else {}
    kind = str(told.get("type", "")).removeprefix("curewright.field.").replace("_", " ")
    repair = _repair(told.get("subject"), account)
    return Kept(
        id=str(row.pk),
        what=kind or "a report",
        repair=repair.ref if repair else "",
        who=row.posted_by.display_name,
        came=moment(row.received_at, repair.run.site.time_zone if repair else "UTC"),
        detail="" if row.faults else row.detail,
        faults=tuple(
            f"{f['field']}: found {f['found']}, expected {f['expected']}" for f in row.faults
        ),
        sent=json.dumps(sent, indent=2, ensure_ascii=True),
        wrong=wrong,
        typed=typed,
    )


def _repair(subject: object, account: Account) -> Repair | None:
    """Name the repair where the account may see it: another crew's stays another crew's."""
    try:
        return visible_repairs(account).filter(pk=UUID(str(subject))).first()
    except ValueError:
        return None


def _id(request: HttpRequest) -> UUID:
    try:
        return UUID(request.POST.get("report", ""))
    except ValueError:
        return UUID(int=0)
