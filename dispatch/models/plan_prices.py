"""What the company says a plan's drawbacks cost."""

import uuid

from django.db import models

from repairs.models import Account


class PlanPrices(models.Model):
    """The prices of `dispatch.domain.plan.weights.Weights`, by name, in seconds of driving.

    A change adds a row; the newest counts. A price that is missing is the usual one.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    prices = models.JSONField(default=dict)
    reason = models.CharField(max_length=200, blank=True)
    set_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["-set_at", "-id"]
