"""What somebody was told, and when."""

import uuid

from django.db import models

from dispatch.models.crew import Crew
from repairs.models import Repair


class Notice(models.Model):
    """A reminder in the inbox of a crew or of the dispatchers (`crew` empty).

    `key` is stable, so the same reminder can never stand there twice.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    key = models.CharField(max_length=200, unique=True)
    crew = models.ForeignKey(
        Crew, on_delete=models.CASCADE, null=True, blank=True, related_name="notices"
    )
    repair = models.ForeignKey(Repair, on_delete=models.CASCADE, related_name="notices")
    code = models.CharField(max_length=40)
    words = models.TextField()
    due_at = models.DateTimeField()  # the instant the notice speaks of
    sent_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-sent_at", "-id"]
