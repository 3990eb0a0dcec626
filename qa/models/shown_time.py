"""What the clock in a photo showed."""

import uuid

from django.db import models

from qa.models.evidence import Evidence
from repairs.models import Account


class ShownTime(models.Model):
    """A person's word on a clock photo; the newest counts, all stay.

    `camera_showed` is for a camera that is seen in the photo rather than taking it: what its own
    clock said, as ISO 8601, with its zone only where it showed one.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    evidence = models.ForeignKey(Evidence, on_delete=models.PROTECT, related_name="shown_times")
    shown_at = models.DateTimeField()
    resolution_s = models.FloatField()
    trusted = models.BooleanField()
    camera_showed = models.CharField(max_length=40, blank=True)
    said_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    said_at = models.DateTimeField()

    class Meta:
        ordering = ["said_at", "id"]
