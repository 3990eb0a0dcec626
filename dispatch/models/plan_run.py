"""The making of a plan, to be watched and called off."""

import uuid

from django.db import models

from dispatch.models.plan import Plan
from repairs.models import Account


class PlanRun(models.Model):
    """Somebody asked for a plan of some days; due work makes it.

    `percent` and `said` are for whoever watches. With `cancel_asked_at` the search ends
    within about a second and the best plan so far is kept.
    """

    WAITING, SEARCHING, DONE, CANCELLED, FAILED = (
        "waiting",
        "searching",
        "done",
        "cancelled",
        "failed",
    )
    OPEN = (WAITING, SEARCHING)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    starts_on = models.DateField()
    days = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=100, blank=True)
    changes = models.JSONField(default=list)
    derived_from = models.ForeignKey(
        Plan, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    seed = models.PositiveIntegerField()
    search_s = models.PositiveIntegerField()
    iterations = models.PositiveIntegerField(null=True, blank=True)
    state = models.CharField(
        max_length=12,
        choices=[(word, word) for word in (WAITING, SEARCHING, DONE, CANCELLED, FAILED)],
        default=WAITING,
        db_index=True,
    )
    percent = models.PositiveSmallIntegerField(default=0)
    said = models.TextField(blank=True)
    asked_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    cancel_asked_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    plan = models.OneToOneField(
        Plan, on_delete=models.PROTECT, null=True, blank=True, related_name="run"
    )

    class Meta:
        ordering = ["-asked_at", "-id"]
