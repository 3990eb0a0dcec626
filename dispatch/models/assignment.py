"""Which crew does which repair, when."""

import uuid

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce

from dispatch.models.crew import Crew
from repairs.models import Account, Prescription, Repair

FREE_AT = Coalesce("freed_at", "ends_at")
"""From when on the crew of an assignment is free for another one."""


class Assignment(models.Model):
    """A repair given to a crew for a span of time, with the prescription it goes out with.

    A cancelled row stays. The database refuses two live rows of one crew that overlap: on
    PostgreSQL by an exclusion constraint, on SQLite by triggers (migration 0011). A row
    `beside` another one is set up in that one's cure, with a second packer: the two overlap,
    as they are meant to. A crew that was done sooner is free from `freed_at` on; `ends_at`
    stays what it was told.
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
    freed_at = models.DateTimeField(null=True, blank=True)
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
