"""What a record that is corrected in place said, each time it was written."""

import uuid

from django.db import models

from repairs.models.account import Account


class Edition(models.Model):
    """The values of an order, run or piece of gear as somebody left them; never written again.

    The newest edition says what the record itself says; `repairs.services.keep_edition` keeps
    both in step. Nobody is named for the first one, which came with the record.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=30)
    subject = models.UUIDField()
    values = models.JSONField()
    made_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["subject", "made_at"], name="editions_of_a_record")]
