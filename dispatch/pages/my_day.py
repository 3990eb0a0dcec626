"""The page a crew opens in the morning."""

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from dispatch.pages.crew_day import crew_day
from repairs.domain.roles import CREW
from repairs.pages.clock_words import hour
from repairs.pages.doors import DoorPage, PageDoors, show


class MyDayPage(DoorPage):
    """Today's assignments of one's own crew."""

    doors: PageDoors = {"GET": CREW}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the day."""
        now = timezone.now()
        day = crew_day(self.account, now=now)
        at = hour(now, day.zone if day else "UTC", now=now)
        return show(request, "dispatch/my_day.html", {"day": day, "now": now, "at": at})
