"""A file that shows something."""

import uuid
from pathlib import PurePath

from django.db import models

from qa.domain.evidence_kind import EvidenceKind
from repairs.models import Account, Repair


class Evidence(models.Model):
    """One uploaded file: sealed bytes under their SHA-256, and what is known of them.

    `facts` is filled by due work after intake; `problem` says why a file could
    not be read. Bytes are never changed: a better file is another row, and one
    handed in by mistake stays with who took it back and why, but proves nothing.
    `derived_sha256` names what was made of the content, sealed like it: the picture people
    look at, or the numbers of a series.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="evidence")
    attempt = models.PositiveSmallIntegerField()
    kind = models.CharField(
        max_length=24, choices=[(kind.value, kind.value) for kind in EvidenceKind]
    )
    title = models.CharField(max_length=200, blank=True)
    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=100)
    sha256 = models.CharField(max_length=64, db_index=True)
    size_bytes = models.BigIntegerField()
    device = models.CharField(max_length=100, blank=True)
    captured_at = models.DateTimeField(null=True, blank=True)
    offset_low_s = models.FloatField(default=0.0)
    offset_high_s = models.FloatField(default=0.0)
    posted_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    facts = models.JSONField(default=dict)
    problem = models.CharField(max_length=300, blank=True)
    derived_sha256 = models.CharField(max_length=64, blank=True)
    probed_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_back_reason = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "attempt", "kind", "sha256"],
                # A file taken back by mistake may be handed in again.
                condition=models.Q(taken_back_at__isnull=True),
                name="same_file_once_a_purpose",
            )
        ]
        ordering = ["received_at", "id"]

    @property
    def storage_key(self) -> str:
        """Where the bytes lie: by content, so that equal files are stored once."""
        return str(PurePath(self.sha256[:2], self.sha256))
