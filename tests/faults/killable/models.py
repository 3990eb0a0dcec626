"""The ledger of what handlers did."""

from django.db import models


class Mark(models.Model):
    """One row for each time a handler had its effect; nothing keeps a second one out."""

    dedupe_key = models.CharField(max_length=200)
    process = models.PositiveIntegerField()
    late_s = models.FloatField(default=0.0)


class Letter(models.Model):
    """What somebody was told is stored: an accepted write."""

    key = models.CharField(max_length=60, primary_key=True)
