"""Somebody looked through the whole proof of an attempt, beside whoever closes it."""

import uuid

from django.db import models

from repairs.models import Account, Repair


class SecondReview(models.Model):
    """A reviewer's word that they looked through everything; written once."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="second_reviews")
    attempt = models.PositiveSmallIntegerField()
    reviewer = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    words = models.TextField()
    reviewed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "attempt", "reviewer"], name="reviewed_once_an_attempt"
            )
        ]
