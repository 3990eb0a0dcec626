"""A pipe between two access points."""

import uuid

from django.db import models

from repairs.models.access_point import AccessPoint
from repairs.models.kept import Kept
from repairs.models.site import Site


class Run(Kept):
    """One pipe run as its owner describes it.

    The groundwater level is kept above the INVERT; the level above the crown
    follows from the diameter, and the two are never mixed in a formula.
    """

    correctable = (
        "diameter_mm",
        "material",
        "length_m",
        "depth_m",
        "groundwater_above_invert_m",
        "host_limit_kpa",
    )
    kept = ("site_id", "ref", "upstream_id", "downstream_id", *correctable)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="runs")
    ref = models.CharField(max_length=60)
    upstream = models.ForeignKey(AccessPoint, on_delete=models.PROTECT, related_name="runs_down")
    downstream = models.ForeignKey(AccessPoint, on_delete=models.PROTECT, related_name="runs_up")
    diameter_mm = models.FloatField()
    material = models.CharField(max_length=60)
    length_m = models.FloatField()
    depth_m = models.FloatField(null=True, blank=True)
    groundwater_above_invert_m = models.FloatField(null=True, blank=True)
    host_limit_kpa = models.FloatField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "ref"], name="run_ref_once_a_site"),
            models.CheckConstraint(
                condition=models.Q(length_m__gt=0, diameter_mm__gt=0), name="run_has_a_size"
            ),
            models.CheckConstraint(
                condition=~models.Q(upstream=models.F("downstream")), name="run_has_two_ends"
            ),
        ]

    def __str__(self) -> str:
        return self.ref
