"""A notice on its way to one address."""

import uuid

from django.db import models

from dispatch.models.contact import Contact
from dispatch.models.notice import Notice


class Message(models.Model):
    """Sent at least once, always under the same id; `sent_at` is when a channel took it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    notice = models.ForeignKey(Notice, on_delete=models.CASCADE, related_name="messages")
    contact = models.ForeignKey(Contact, on_delete=models.CASCADE, related_name="messages")
    to = models.CharField(max_length=20)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["notice", "contact"], name="one_message_a_contact")
        ]
