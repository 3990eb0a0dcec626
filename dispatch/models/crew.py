"""Those who go out together in one truck."""

import uuid

from django.db import models
from django.db.models import F, Q

from dispatch.models.yard import Yard


class Crew(models.Model):
    """A crew, its base and its time zone.

    `yard`, the working hours (`WorkHours`) and the fields below are what a plan needs of it.
    Lunch begins between `lunch_from` and `lunch_until`, on the crew's own clock; with no
    minutes none is planned. `lunch_in_cure` is the word of the contract and of the safety
    plan: somebody stays with a live packer. So is `beside_cure`: whether the next repair may
    be set up during a cure, at most `beside_drive_min` away, with a sleeve held at most
    `beside_wait_min` longer than its cure; the crew is large enough then.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=100)
    time_zone = models.CharField(max_length=60)
    yard = models.ForeignKey(
        Yard, on_delete=models.PROTECT, null=True, blank=True, related_name="crews"
    )
    most_overtime_min = models.PositiveSmallIntegerField(default=0)
    lunch_from = models.TimeField(null=True, blank=True)
    lunch_until = models.TimeField(null=True, blank=True)
    lunch_min = models.PositiveSmallIntegerField(default=0)
    lunch_in_cure = models.BooleanField(default=False)
    beside_cure = models.BooleanField(default=False)
    beside_drive_min = models.PositiveSmallIntegerField(default=10)
    beside_wait_min = models.PositiveSmallIntegerField(default=30)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(lunch_min=0)
                | Q(lunch_from__isnull=False, lunch_until__gte=F("lunch_from")),
                name="lunch_has_a_time",
            )
        ]

    def __str__(self) -> str:
        return self.name
