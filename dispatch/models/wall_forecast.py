"""How cold the pipe walls of a site will be on a day, as somebody foretold."""

import uuid

from django.db import models

from repairs.models import Account, Site


class WallForecast(models.Model):
    """One site, one day; a new word replaces the old one.

    Of the wall, not of the air: rain and meltwater make a wall colder than the ground. A plan
    reckons with the coldest of its days; the cure on the day itself is judged by what is
    measured there.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="wall_forecasts")
    day = models.DateField()
    wall_c = models.FloatField()
    source = models.CharField(max_length=200)
    entered_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "day"], name="one_forecast_a_site_and_day")
        ]
