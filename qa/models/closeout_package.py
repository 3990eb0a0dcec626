"""What the client gets."""

import uuid
from pathlib import PurePath

from django.db import models

from qa.models.closing import Closing
from qa.models.history import HistoryCheckpoint


class CloseoutPackage(models.Model):
    """One zipped bag of one closing; `ready_at` is empty while it is being built.

    `checkpoint` is where the history stood: chosen once, so that a package that is built
    again is the same.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    closing = models.OneToOneField(Closing, on_delete=models.PROTECT, related_name="package")
    file_name = models.CharField(max_length=200)
    requested_at = models.DateTimeField()
    ready_at = models.DateTimeField(null=True)
    sha256 = models.CharField(max_length=64, blank=True)
    size_bytes = models.BigIntegerField(null=True)
    checkpoint = models.ForeignKey(
        HistoryCheckpoint, on_delete=models.PROTECT, null=True, related_name="+"
    )

    @property
    def storage_key(self) -> str:
        """Where the zip lies below the media folder."""
        return str(PurePath("packages", str(self.id), self.file_name))
