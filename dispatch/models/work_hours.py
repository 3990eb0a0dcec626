"""When a crew works."""

import uuid

from django.db import models
from django.db.models import Q

from dispatch.models.crew import Crew


class WorkHours(models.Model):
    """A crew's hours on a weekday, or on one date, on its own clock.

    A date counts before its weekday. Without a beginning and an end it is a day off. An
    end that is not after the beginning is the next morning's.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="work_hours")
    weekday = models.PositiveSmallIntegerField(null=True, blank=True)  # 0 is Monday, as ISO 8601
    on = models.DateField(null=True, blank=True)
    begins = models.TimeField(null=True, blank=True)
    ends = models.TimeField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["crew", "on", "weekday"]
        constraints = [
            models.CheckConstraint(
                condition=Q(weekday__isnull=True, on__isnull=False)
                | Q(weekday__lte=6, on__isnull=True),
                name="hours_of_a_weekday_or_of_a_date",
            ),
            models.CheckConstraint(
                condition=Q(begins__isnull=True, ends__isnull=True)
                | Q(begins__isnull=False, ends__isnull=False),
                name="hours_begin_and_end",
            ),
            models.UniqueConstraint(
                fields=["crew", "weekday"],
                condition=Q(weekday__isnull=False),
                name="hours_once_a_weekday",
            ),
            models.UniqueConstraint(
                fields=["crew", "on"], condition=Q(on__isnull=False), name="hours_once_a_date"
            ),
        ]
