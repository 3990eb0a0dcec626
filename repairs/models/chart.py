"""A maker's time chart: minutes against temperature."""

import uuid

from django.db import models

from repairs.models.resin_system import ResinSystem


class Chart(models.Model):
    """One version of a cure chart or a working-time chart of a resin system.

    Rows are ``[[temperature_c, minutes], ...]`` with rising temperature. A chart
    never changes; a new version is added and prescriptions keep the old one.
    """

    CURE = "cure"
    WORKING = "working"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    resin_system = models.ForeignKey(ResinSystem, on_delete=models.PROTECT, related_name="charts")
    purpose = models.CharField(max_length=8, choices=[(CURE, CURE), (WORKING, WORKING)])
    diameter_min_mm = models.FloatField()
    diameter_max_mm = models.FloatField()
    clock_start = models.CharField(
        max_length=10,
        choices=[("mixing", "mixing"), ("wet_out", "wet_out"), ("inflation", "inflation")],
    )
    rows = models.JSONField()
    rounding_min = models.FloatField()
    version = models.CharField(max_length=60)
    source = models.CharField(max_length=300)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["resin_system", "purpose", "diameter_min_mm", "version"],
                name="chart_version_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.purpose} chart {self.version}"
