"""A requirement somebody let go, by name, role and reason."""

import uuid

from django.db import models

from repairs.models import Account, Repair


class Waiver(models.Model):
    """Lets one requirement of one attempt be closed unproved; it is printed on page one."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="waivers")
    attempt = models.PositiveSmallIntegerField()
    requirement = models.CharField(max_length=60)
    name = models.CharField(max_length=150)
    role = models.CharField(max_length=100)
    reason = models.TextField()
    recorded_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "attempt", "requirement"], name="waived_once_an_attempt"
            )
        ]
