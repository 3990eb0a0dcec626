"""A requirement somebody let go, or judged met, by name, role and reason."""

import uuid

from django.db import models

from repairs.models import Account, Repair


class Waiver(models.Model):
    """Lets one requirement of one attempt be closed unproved; it is printed on page one.

    `judged` is no waiver but a reviewer's decision on what the rule could not tell; it counts
    only as long as the rule cannot.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="waivers")
    attempt = models.PositiveSmallIntegerField()
    requirement = models.CharField(max_length=60)
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=100)
    reason = models.TextField()
    judged = models.BooleanField(default=False)
    recorded_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "attempt", "requirement", "judged"],
                name="waived_or_judged_once_an_attempt",
            )
        ]
