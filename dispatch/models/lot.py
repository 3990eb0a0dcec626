"""A maker's batch of kits."""

import uuid

from django.db import models

from repairs.models import KitType


class Lot(models.Model):
    """Kits made together, with the lots of both resin parts and one expiry."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kit_type = models.ForeignKey(KitType, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField(max_length=60, unique=True)
    resin_lot_a = models.CharField(max_length=60)
    resin_lot_b = models.CharField(max_length=60)
    expires_on = models.DateField()
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.number
