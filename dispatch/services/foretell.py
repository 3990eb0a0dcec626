"""Forecasts of wall temperatures: entered by people, or by a program that watches the weather."""

from datetime import date, datetime, timedelta

from django.db import transaction

from dispatch.models import WallForecast
from repairs.domain.problem import Fault, malformed
from repairs.models import Account, Site

FURTHEST_DAYS = 731


@transaction.atomic
def foretell_wall(
    *, site: Site, day: date, wall_c: float, source: str, by: Account, now: datetime
) -> WallForecast:
    """Write how cold a site's walls will be on a day; the newest word counts.

    Days before yesterday and beyond two years are refused: nobody plans by them, and they are
    more likely a slip of the pen.
    """
    first, last = now.date() - timedelta(days=1), now.date() + timedelta(days=FURTHEST_DAYS)
    if not first <= day <= last:
        raise malformed(Fault("day", day.isoformat(), f"a day from {first} to {last}"))
    return WallForecast.objects.update_or_create(
        site=site,
        day=day,
        defaults={"wall_c": wall_c, "source": source, "entered_by": by, "entered_at": now},
    )[0]
