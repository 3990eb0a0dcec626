"""That a package is ready, on its way to one address of the client's."""

import uuid

from django.db import models

from dispatch.models import Contact
from qa.models.package_link import PackageLink


class PackageMessage(models.Model):
    """Sent at least once, always under the same id and with the same link.

    `key` names package and address, so the same message can never stand there twice;
    `sent_at` is when a channel took it. With the address the message goes, its link stays.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    key = models.CharField(max_length=120, unique=True)
    link = models.OneToOneField(PackageLink, on_delete=models.PROTECT, related_name="message")
    contact = models.ForeignKey(Contact, on_delete=models.CASCADE, related_name="+")
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
