"""The page a crew opens in the morning."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from dispatch.pages.crew_day import crew_day
from dispatch.selectors import visible_set_aside
from repairs.domain.roles import CREW
from repairs.pages.clock_words import hour, offset
from repairs.pages.doors import DoorPage, PageDoors, show


class MyDayPage(DoorPage):
    """Today's assignments of one's own crew."""

    doors: PageDoors = {"GET": CREW}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the day."""
        now = timezone.now()
        day = crew_day(self.account, now=now)
        aside = visible_set_aside(self.account).filter(settled_at__isnull=True).count()
        zone = day.zone if day else "UTC"
        context = {
            "day": day,
            "now": now,
            "at": f"{hour(now, zone, now=now)} ({offset(now, zone)})",
            "aside_count": aside,
        }
        return show(request, "dispatch/my_day.html", context)
