"""Where trucks stand at night."""

import uuid

from django.db import models


class Yard(models.Model):
    """A place that crews leave in the morning and come back to, in WGS 84 degrees."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=100)
    latitude = models.FloatField()
    longitude = models.FloatField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(latitude__gte=-90, latitude__lte=90),
                name="yard_latitude_on_earth",
            ),
            models.CheckConstraint(
                condition=models.Q(longitude__gte=-180, longitude__lte=180),
                name="yard_longitude_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.name
