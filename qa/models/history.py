"""The history: which facts were stored, in which order, and the signed heads of it.

Entries and checkpoints are written once. Triggers (migration 0006) refuse to change, delete or
empty them, on both databases; whoever takes the triggers away is found by `verify_history`.
"""

import uuid

from django.db import models


class HistoryEntry(models.Model):
    """One link of the chain; see `qa.domain.history`."""

    number = models.BigIntegerField(primary_key=True)
    source = models.CharField(max_length=40)
    subject = models.UUIDField()
    content_sha256 = models.CharField(max_length=64)
    written_at = models.DateTimeField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["subject", "source"], name="each_fact_one_entry")
        ]


class HistoryCheckpoint(models.Model):
    """The signed head after so many entries."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    entries = models.BigIntegerField()
    head = models.CharField(max_length=64)
    made_at = models.DateTimeField(db_index=True)
    key_id = models.CharField(max_length=16)
    signature = models.CharField(max_length=128)


class HistoryHead(models.Model):
    """Where the chain ends: the one row a writer locks, so that no two write at once."""

    ONLY = 1

    id = models.PositiveSmallIntegerField(primary_key=True, default=ONLY)
    number = models.BigIntegerField(default=0)
    digest = models.CharField(max_length=64)


class SigningKey(models.Model):
    """A public key that signed something; kept for ever, so that old packages can be checked."""

    key_id = models.CharField(max_length=16, primary_key=True)
    public_hex = models.CharField(max_length=64, unique=True)
    first_used_at = models.DateTimeField()
