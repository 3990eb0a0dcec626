"""A repair on a crew's day of a plan."""

from django.db import models

from dispatch.models.crew import Crew
from dispatch.models.plan import Plan
from repairs.models import Repair


class PlanStop(models.Model):
    """When a crew comes to a repair, and how much later it may.

    `name` is what the plan calls the repair, `number` its place in the day from 1. With
    `beside` it is set up in the cure of that other stop. `numbers` holds what the clock of
    the day was made of, in seconds.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="stops")
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=200)
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="+")
    on = models.DateField()
    number = models.PositiveSmallIntegerField()
    arrives_at = models.DateTimeField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    slack_s = models.IntegerField()
    beside = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    numbers = models.JSONField(default=dict)

    class Meta:
        ordering = ["plan", "on", "crew__code", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "repair"], name="repair_once_a_plan")
        ]
