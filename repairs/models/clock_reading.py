"""The last computed clocks of a repair, for boards and lists."""

from django.db import models

from repairs.models.repair import Repair


class ClockReading(models.Model):
    """What the clocks said when due work last computed them.

    A convenience copy: whoever must know asks the clock itself, which is
    computed from the events at that moment.
    """

    repair = models.OneToOneField(
        Repair, on_delete=models.CASCADE, primary_key=True, related_name="clock_reading"
    )
    attempt = models.PositiveSmallIntegerField()
    working_status = models.CharField(max_length=12)
    working_deadline = models.DateTimeField(null=True)
    cure_status = models.CharField(max_length=12)
    cure_best = models.DateTimeField(null=True)
    hold_until = models.DateTimeField(null=True)
    computed_at = models.DateTimeField()
