"""Who was told of a notice: one row a rung of the ladder."""

from django.db import models

from dispatch.domain.reminder import Rung
from dispatch.models.notice import Notice


class Call(models.Model):
    """A rung that was told; it stands there even where nobody could be reached."""

    notice = models.ForeignKey(Notice, on_delete=models.CASCADE, related_name="calls")
    to = models.CharField(max_length=20, choices=[(rung.value, rung.value) for rung in Rung])
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["notice", "to"], name="one_call_a_notice_and_rung")
        ]
