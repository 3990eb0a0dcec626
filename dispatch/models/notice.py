"""What somebody was told, and when."""

import uuid

from django.db import models

from dispatch.models.crew import Crew
from repairs.models import Account, Repair


class Notice(models.Model):
    """A reminder that was told: to a crew, then to the office, until somebody acknowledges it.

    `source`, `subject_id`, `since`, `code` and `item` say which reminder it was, so that its
    facts can be asked again. `key` is stable, so the same reminder can never stand there
    twice. `settled_at` is when the facts no longer asked for it; `changed_at` orders the
    live inbox.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    key = models.CharField(max_length=200, unique=True)
    crew = models.ForeignKey(
        Crew, on_delete=models.CASCADE, null=True, blank=True, related_name="notices"
    )
    repair = models.ForeignKey(
        Repair, on_delete=models.CASCADE, null=True, blank=True, related_name="notices"
    )
    source = models.CharField(max_length=20)
    subject_id = models.CharField(max_length=64)
    since = models.CharField(max_length=20)
    code = models.CharField(max_length=40)
    item = models.CharField(max_length=64, blank=True)
    words = models.TextField()
    live = models.BooleanField(default=False)  # resin is live: quiet hours do not hold
    due_at = models.DateTimeField()  # the instant the notice speaks of
    sent_at = models.DateTimeField()
    useful_until = models.DateTimeField()
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)
    changed_at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-sent_at", "-id"]

    @property
    def open(self) -> bool:
        """Whether it still waits for somebody."""
        return self.acknowledged_at is None and self.settled_at is None
