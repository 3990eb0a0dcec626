"""Nothing of an order is disposed of while somebody holds it."""

import uuid

from django.db import models

from repairs.models import Account, WorkOrder


class LegalHold(models.Model):
    """A hold with its reason; it stays on record when it is lifted."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="legal_holds")
    reason = models.TextField()
    set_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()
    lifted_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    lifted_at = models.DateTimeField(null=True)
    lifted_reason = models.TextField(blank=True)
