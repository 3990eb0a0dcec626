"""Forecasts of wall temperatures: entered by people, or by a program that watches the weather."""

from datetime import date, datetime

from django.db import transaction

from dispatch.models import WallForecast
from repairs.models import Account, Site


@transaction.atomic
def foretell_wall(
    *, site: Site, day: date, wall_c: float, source: str, by: Account, now: datetime
) -> WallForecast:
    """Write how cold a site's walls will be on a day; the newest word counts."""
    return WallForecast.objects.update_or_create(
        site=site,
        day=day,
        defaults={"wall_c": wall_c, "source": source, "entered_by": by, "entered_at": now},
    )[0]
