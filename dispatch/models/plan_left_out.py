"""A repair that has no place in a plan, and why."""

from django.db import models

from dispatch.models.plan import Plan
from repairs.models import Repair


class PlanLeftOut(models.Model):
    """Left out by the prices or for want of room, or refused before anything was planned.

    `counted` holds each reason with the number of crew-days it holds on, `closest` the
    reason of time that fails by the least, `ways_in` the cheapest places it could have.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="left_out")
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=200)
    refused = models.BooleanField()
    code = models.CharField(max_length=40)
    words = models.TextField()
    counted = models.JSONField(default=dict)
    closest = models.JSONField(null=True)
    ways_in = models.JSONField(default=list)

    class Meta:
        ordering = ["plan", "refused", "name"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "repair"], name="left_out_once_a_plan")
        ]
