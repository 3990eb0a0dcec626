"""Gear on a crew's truck."""

import uuid

from django.db import models

from dispatch.models.crew import Crew
from repairs.models.kept import Kept


class Equipment(Kept):
    """A packer, camera or gauge with the bores it serves and the date its test runs out.

    `out_of_use` says why it may not be used, as long as it may not; empty when it may.
    """

    correctable = (
        "crew_id",
        "diameter_min_mm",
        "diameter_max_mm",
        "length_m",
        "limit_kpa",
        "test_due_on",
        "out_of_use",
    )
    kept = ("kind", "serial", *correctable)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="equipment")
    kind = models.CharField(
        max_length=20,
        choices=[(word, word) for word in ("packer", "camera", "gauge", "gas meter", "other")],
    )
    serial = models.CharField(max_length=60, unique=True)
    diameter_min_mm = models.FloatField(null=True, blank=True)
    diameter_max_mm = models.FloatField(null=True, blank=True)
    length_m = models.FloatField(null=True, blank=True)
    limit_kpa = models.FloatField(null=True, blank=True)
    test_due_on = models.DateField()
    out_of_use = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.kind} {self.serial}"
