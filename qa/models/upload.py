"""A file that comes in pieces."""

import uuid

from django.db import models

from qa.models.evidence import Evidence
from repairs.models import Account, Repair


class Upload(models.Model):
    """An upload under way, and what became of it.

    The bytes lie in a part file, whose length is the offset. `declared` is what the sender
    said of the file, as `qa.api.uploads` understood it.
    """

    class State(models.TextChoices):
        """Where it stands."""

        OPEN = "open", "more bytes may come"
        DONE = "done", "sealed, and evidence since"
        REFUSED = "refused", "not what was declared"
        ENDED = "ended", "ended by its sender"
        EXPIRED = "expired", "not finished in time"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="uploads")
    declared = models.JSONField()
    length_bytes = models.BigIntegerField()
    offset_low_s = models.FloatField(null=True)
    offset_high_s = models.FloatField(null=True)
    created_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    problem = models.CharField(max_length=300, blank=True)
    evidence = models.ForeignKey(
        Evidence, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["created_at", "id"]
        indexes = [models.Index(fields=["created_by", "state"], name="upload_quota")]
