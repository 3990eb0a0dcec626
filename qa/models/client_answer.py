"""What the client said of a package."""

import uuid

from django.db import models

from qa.models.closeout_package import CloseoutPackage
from repairs.models import Account


class ClientAnswer(models.Model):
    """Accepted, or returned with reasons; one answer a package."""

    ACCEPTED = "accepted"
    RETURNED = "returned"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    package = models.OneToOneField(
        CloseoutPackage, on_delete=models.PROTECT, related_name="client_answer"
    )
    answer = models.CharField(max_length=8, choices=[(ACCEPTED, ACCEPTED), (RETURNED, RETURNED)])
    reasons = models.JSONField(default=list)
    note = models.TextField(blank=True)
    answered_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    answered_at = models.DateTimeField()
