"""How many kits of a lot are on a truck."""

import uuid

from django.db import models

from dispatch.models.crew import Crew
from dispatch.models.lot import Lot


class KitStock(models.Model):
    """Kits of one lot loaded on one crew's truck."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="kit_stock")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="stock")
    quantity = models.PositiveIntegerField()
    counted_at = models.DateTimeField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["crew", "lot"], name="one_stock_row_a_crew_and_lot")
        ]
