"""A size of sleeve with its resin: what a kit contains."""

import uuid

from django.db import models

from repairs.models.resin_system import ResinSystem


class KitType(models.Model):
    """The maker's data of one kit: bores it serves, sleeve lengths, glass, limits, contents."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    code = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=200)
    resin_system = models.ForeignKey(
        ResinSystem, on_delete=models.PROTECT, related_name="kit_types"
    )
    diameter_min_mm = models.FloatField()
    diameter_max_mm = models.FloatField()
    sleeve_lengths_m = models.JSONField()
    thickness_mm = models.FloatField()
    fibre_volume_fraction = models.FloatField()
    host_loss_fraction = models.FloatField(default=0.0)
    waste_fraction = models.FloatField()
    usual_inflation_kpa = models.FloatField()
    limit_kpa = models.FloatField()
    contents = models.JSONField(default=list)
    source = models.CharField(max_length=300)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name
