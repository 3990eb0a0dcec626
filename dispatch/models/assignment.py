"""Which crew does which repair, when."""

import uuid

from django.db import models
from django.db.models import F, Q

from dispatch.models.crew import Crew
from repairs.models import Account, Prescription, Repair


class Assignment(models.Model):
    """A repair given to a crew for a span of time, with the prescription it goes out with.

    A cancelled row stays. The database refuses two live rows of one crew that overlap: on
    PostgreSQL by an exclusion constraint (migrations 0002 and 0006), on SQLite by triggers
    (0011). A row `beside` another one is set up in that one's cure, with a second packer:
    the two overlap, as they are meant to.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="assignments")
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="assignments")
    prescription = models.ForeignKey(Prescription, on_delete=models.PROTECT, related_name="+")
    attempt = models.PositiveSmallIntegerField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    beside = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="inside"
    )
    assigned_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancel_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="assignment_takes_time"
            ),
            models.UniqueConstraint(
                fields=["repair", "attempt"],
                condition=Q(cancelled_at__isnull=True),
                name="one_live_assignment_an_attempt",
            ),
        ]
        indexes = [models.Index(fields=["crew", "starts_at"], name="assignment_of_crew")]
