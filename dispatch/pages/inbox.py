"""The inbox on a page: what waits to be acknowledged, and the one button that does it."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from dispatch.models import Notice
from dispatch.selectors import inbox_of, visible_notices
from dispatch.services.escalate import acknowledge
from repairs.domain.roles import CREW, Role
from repairs.models import Account, Repair
from repairs.pages.clock_words import hour
from repairs.pages.doors import DoorPage, PageDoors

MOST_OPEN = 12
MOST_TOLD = 10

ACKNOWLEDGERS = CREW | {Role.DISPATCHER, Role.ADMINISTRATOR}
"""Who takes care of what is told; a reviewer only reads it."""


@dataclass(frozen=True, slots=True)
class Told:
    """A notice as it is read.

    Parameters
    ----------
    whom : str
        Who was told so far: "crew lead, dispatcher".
    done : str
        Who acknowledged it, or that it is settled; empty while it waits.
    """

    id: str
    repair_id: str
    about: str
    words: str
    at: str
    whom: str
    live: bool
    done: str
    may_acknowledge: bool


def open_notices(
    account: Account, *, now: datetime, repair: Repair | None = None
) -> tuple[Told, ...]:
    """Return what waits for the account to acknowledge, live resin first."""
    rows = inbox_of(account, now=now).select_related("repair__run__site")
    if repair is not None:
        rows = rows.filter(repair=repair)
    newest = rows.order_by("-live", "-sent_at", "-id")[:MOST_OPEN]
    return tuple(_told(row, account, now) for row in newest)


def told_since(account: Account, *, since: datetime, now: datetime) -> tuple[Told, ...]:
    """Return what was told since an instant, the newest first, acknowledged or not."""
    rows = visible_notices(account).select_related("repair__run__site").prefetch_related("calls")
    newest = rows.filter(sent_at__gte=since).order_by("-sent_at", "-id")[:MOST_TOLD]
    return tuple(_told(row, account, now) for row in newest)


def _told(row: Notice, account: Account, now: datetime) -> Told:
    zone = row.repair.run.site.time_zone if row.repair else row.crew and row.crew.time_zone
    done = ""
    if row.acknowledged_by is not None:
        done = f"acknowledged by {row.acknowledged_by.display_name}"
    elif row.settled_at is not None:
        done = "settled"
    return Told(
        id=str(row.pk),
        repair_id=str(row.repair_id or ""),
        about=row.repair.ref if row.repair else (row.crew.name if row.crew else ""),
        words=row.words,
        at=hour(row.sent_at, zone or "UTC", now=now),
        whom=", ".join(call.to for call in row.calls.all()),
        live=row.live,
        done=done,
        may_acknowledge=account.role in ACKNOWLEDGERS,
    )


class AcknowledgePage(DoorPage):
    """Take care of a notice, and go back to where the button was."""

    doors: PageDoors = {"POST": ACKNOWLEDGERS}

    def post(self, request: HttpRequest, notice_id: UUID) -> HttpResponse:
        """Acknowledge it."""
        notice = get_object_or_404(visible_notices(self.account), pk=notice_id)
        acknowledge(notice=notice, by=self.account, now=timezone.now())
        back = request.POST.get("back", "/")
        ours = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
        return HttpResponseRedirect(back if ours and back.startswith("/") else "/")
