"""What a service of ways answered, kept so that it is not asked twice."""

from django.db import models


class KeptWays(models.Model):
    """The ways from one place, as one service told them; `ways` is place to seconds, metres.

    Where the service knows no way, null stands for both. A place is its rounded latitude and
    longitude with a comma between. `asked_at` is the oldest answer in the row.
    """

    service = models.CharField(max_length=300)
    place = models.CharField(max_length=30)
    ways = models.JSONField(default=dict)
    asked_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "place"], name="kept_ways_once_a_place")
        ]
