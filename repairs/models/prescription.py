"""What was prescribed for a repair, with everything it was calculated from."""

import uuid

from django.db import models

from repairs.models.account import Account
from repairs.models.repair import Repair
from repairs.models.requirement_set import RequirementSet


class Prescription(models.Model):
    """One calculated answer, never changed: inputs, chart and rule versions, verdict, result.

    A new calculation adds a row with the next number; `frozen_at` marks the
    one a crew was sent out with.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="prescriptions")
    number = models.PositiveIntegerField()
    attempt = models.PositiveSmallIntegerField()
    requirement_set = models.ForeignKey(RequirementSet, on_delete=models.PROTECT, related_name="+")
    rules_version = models.CharField(max_length=30)
    inputs = models.JSONField()
    fitness = models.CharField(max_length=12)
    fitness_reasons = models.JSONField()
    result = models.JSONField(null=True)
    created_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    frozen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "number"], name="prescription_number_once_a_repair"
            )
        ]
        ordering = ["repair", "-number"]
