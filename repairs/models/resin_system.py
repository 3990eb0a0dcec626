"""A two-part resin as its maker describes it."""

import uuid

from django.db import models


class ResinSystem(models.Model):
    """Mix ratio, densities and cure margin of one resin; its charts stand beside it.

    `ratio_basis` (by mass or by volume) has no default: confusing the two is a
    17 % error for a common epoxy.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    code = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=200)
    ratio_a = models.FloatField()
    ratio_b = models.FloatField()
    ratio_basis = models.CharField(max_length=6, choices=[("mass", "mass"), ("volume", "volume")])
    density_a_kg_m3 = models.FloatField()
    density_b_kg_m3 = models.FloatField()
    density_mixed_kg_m3 = models.FloatField()
    model_allowance = models.FloatField(default=0.05)
    source = models.CharField(max_length=300)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name
