"""A report that could not be taken as it came."""

import uuid

from django.db import models

from repairs.models import Account


class SetAside(models.Model):
    """What a device sent and nobody could take, kept word for word until a person settles it.

    Field data is never thrown away: not when it is mistyped, not when its repair is another
    crew's, not when its id is stored with another content. `body` is JSON text, exactly as
    it was understood on the wire; `digest` tells the same report sent again.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    digest = models.CharField(max_length=64)
    body = models.TextField()
    event_id = models.CharField(max_length=80, blank=True)
    code = models.CharField(max_length=40)
    detail = models.TextField()
    faults = models.JSONField(default=list)
    device_told = models.DateTimeField(null=True)
    posted_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    settled_as = models.UUIDField(null=True)
    """The event it was sent again as; empty where it was dropped."""
    settled_reason = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["received_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["posted_by", "digest"], name="set_aside_once")
        ]
