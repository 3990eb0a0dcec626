"""Who is on call, from when to when."""

import uuid

from django.db import models
from django.db.models import F, Q

from repairs.models import Account


class OnCall(models.Model):
    """A stretch of the rota; several may overlap, then all of them are told."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="on_call")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="on_call_lasts")
        ]
        indexes = [models.Index(fields=["ends_at"], name="on_call_until")]
