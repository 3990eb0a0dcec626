"""The page of one repair: for the crew first, then for whoever judges it."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from dispatch.pages.inbox import open_notices
from dispatch.selectors import visible_repairs
from qa.pages.repair_sheet import repair_sheet
from repairs.models import Repair
from repairs.pages.doors import PEOPLE, DoorPage, PageDoors, show


class RepairPage(DoorPage):
    """A repair, at the attempt under way or at ``?attempt=``."""

    doors: PageDoors = {"GET": PEOPLE}

    def get(self, request: HttpRequest, repair_id: UUID) -> HttpResponse:
        """Show it."""
        now = timezone.now()
        repair = get_object_or_404(visible_repairs(self.account), pk=repair_id)
        attempt = _attempt(request.GET.get("attempt", ""), repair)
        context = {
            "sheet": repair_sheet(self.account, repair, attempt=attempt, now=now),
            "attempts": range(1, repair.attempt + 1),
            "inbox": open_notices(self.account, now=now, repair=repair),
            "now": now,
        }
        return show(request, "qa/repair.html", context)


def _attempt(asked: str, repair: Repair) -> int:
    known = {str(number): number for number in range(1, repair.attempt + 1)}
    return known.get(asked, repair.attempt)
