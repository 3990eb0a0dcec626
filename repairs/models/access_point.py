"""Where the pipe can be reached from the street."""

import uuid

from django.db import models

from repairs.models.kept import Kept
from repairs.models.site import Site


class AccessPoint(Kept):
    """A manhole or shaft, with its position in WGS 84 degrees."""

    kept = (
        "site_id",
        "ref",
        "latitude",
        "longitude",
    )

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="access_points")
    ref = models.CharField(max_length=60)
    latitude = models.FloatField()
    longitude = models.FloatField()
    depth_m = models.FloatField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "ref"], name="access_point_ref_once_a_site"),
            models.CheckConstraint(
                condition=models.Q(latitude__gte=-90, latitude__lte=90),
                name="latitude_on_earth",
            ),
            models.CheckConstraint(
                condition=models.Q(longitude__gte=-180, longitude__lte=180),
                name="longitude_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.ref
