"""When a stored file was last read back, and what was found."""

from django.db import models


class FileCheck(models.Model):
    """One file as it lies in the store: sealed evidence, what was made of it, or a package.

    `problem` says what is wrong with it now; empty when its hash is what it was.
    """

    storage_key = models.CharField(max_length=300, primary_key=True)
    checked_at = models.DateTimeField(db_index=True)
    problem = models.CharField(max_length=200, blank=True)
    broken_since = models.DateTimeField(null=True)
