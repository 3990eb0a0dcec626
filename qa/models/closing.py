"""The decision that an attempt is proved."""

import uuid

from django.db import models

from repairs.models import Account, Repair


class Closing(models.Model):
    """Who closed an attempt, when, and every requirement's verdict at that moment."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="closings")
    attempt = models.PositiveSmallIntegerField()
    verdicts = models.JSONField()
    closed_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["repair", "attempt"], name="closed_once_an_attempt")
        ]
