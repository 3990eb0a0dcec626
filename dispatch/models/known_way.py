"""A way between two places that somebody knows better than the estimate."""

import uuid

from django.db import models

from repairs.models import Account


class KnownWay(models.Model):
    """How long it really is round the river, over the bridge; one direction.

    Both places are rounded to four decimals of a degree, about ten metres: a plan finds the
    way for whatever lies there.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    from_latitude = models.FloatField()
    from_longitude = models.FloatField()
    to_latitude = models.FloatField()
    to_longitude = models.FloatField()
    seconds = models.PositiveIntegerField()
    metres = models.PositiveIntegerField()
    note = models.CharField(max_length=200, blank=True)
    entered_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["entered_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["from_latitude", "from_longitude", "to_latitude", "to_longitude"],
                name="known_way_once",
            )
        ]
