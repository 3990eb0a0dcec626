"""How somebody wants to be told beside the inbox."""

import uuid

from django.db import models

from dispatch.domain.channel import Channel
from repairs.models import Account


class Contact(models.Model):
    """An address of an account on one channel.

    `secret` signs webhooks; it must be readable to sign with, and is shown once.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="contacts")
    channel = models.CharField(
        max_length=20, choices=[(word.value, word.value) for word in Channel]
    )
    address = models.CharField(max_length=500)
    secret = models.CharField(max_length=100, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["account", "channel", "address"], name="contact_once_an_account"
            )
        ]
