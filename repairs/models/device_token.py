"""What a device shows at the door instead of a password."""

import uuid

from django.db import models

from repairs.models.account import Account


class DeviceToken(models.Model):
    """A random 256-bit token of one device, stored only as its SHA-256 digest."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    account = models.ForeignKey(Account, on_delete=models.CASCADE, related_name="device_tokens")
    label = models.CharField(max_length=100)
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
