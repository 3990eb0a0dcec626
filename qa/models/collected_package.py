"""What the client gets of a whole order or month."""

import uuid
from pathlib import PurePath

from django.db import models

from qa.models.history import HistoryCheckpoint
from repairs.models import Account, Customer, WorkOrder


class CollectedPackage(models.Model):
    """One zipped bag that holds the packages of an order or of a month's closings.

    `members` fixes what belongs to it when it is asked for: each package with the client's
    answer until then, and the repairs of the order that were not closed yet. So it can be built
    again after a crash and is the same.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="+")
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="+")
    month = models.DateField(null=True)
    members = models.JSONField()
    file_name = models.CharField(max_length=200)
    requested_at = models.DateTimeField()
    requested_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    ready_at = models.DateTimeField(null=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size_bytes = models.BigIntegerField(null=True)
    checkpoint = models.ForeignKey(
        HistoryCheckpoint, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(work_order__isnull=True) ^ models.Q(month__isnull=True),
                name="collected_of_an_order_or_a_month",
            )
        ]

    @property
    def storage_key(self) -> str:
        """Where the zip lies below the media folder."""
        return str(PurePath("packages", str(self.id), self.file_name))
