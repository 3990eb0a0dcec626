"""What somebody said has happened; written once, never changed."""

import uuid
from typing import Any, NoReturn

from django.db import models

from repairs.domain.field_event import EventKind
from repairs.models.account import Account
from repairs.models.repair import Repair


class FieldEvent(models.Model):
    """An append-only fact with two clocks: the device's and the server's.

    The id is made by the device and is the key for ever; `body_digest` tells a
    repeat of the same event from another event under the same id.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="field_events")
    attempt = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20, choices=[(kind.value, kind.value) for kind in EventKind])
    device = models.CharField(max_length=100)
    device_time = models.DateTimeField()
    sequence = models.BigIntegerField(null=True)
    offset_low_s = models.FloatField()
    offset_high_s = models.FloatField()
    clock_verified = models.BooleanField()
    corrects = models.UUIDField(null=True)
    data = models.JSONField(default=dict)
    body_digest = models.CharField(max_length=64)
    posted_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField(db_index=True)

    class Meta:
        indexes = [models.Index(fields=["repair", "attempt"], name="event_of_attempt")]

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert; an event that is already stored is never written again."""
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *_args: Any, **_kwargs: Any) -> NoReturn:
        """Refuse: a wrong event is corrected by another event."""
        raise TypeError("a field event is never deleted; post one that corrects it")
