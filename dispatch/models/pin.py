"""What a dispatcher has decided before any plan."""

import uuid

from django.db import models
from django.db.models import Q

from dispatch.models.crew import Crew
from repairs.models import Account, Repair


class Pin(models.Model):
    """A repair that belongs to a crew, to a day, or to both; no plan puts it elsewhere."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.OneToOneField(Repair, on_delete=models.CASCADE, related_name="pin")
    crew = models.ForeignKey(
        Crew, on_delete=models.CASCADE, null=True, blank=True, related_name="pins"
    )
    on = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=200)
    pinned_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    pinned_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(crew__isnull=False) | Q(on__isnull=False),
                name="pin_names_a_crew_or_a_day",
            )
        ]
