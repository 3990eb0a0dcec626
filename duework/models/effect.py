"""The proof that a piece of work had its effect, once and for ever."""

from django.db import models


class Effect(models.Model):
    """Written in the transaction that did the work; outlives the purge of work items."""

    dedupe_key = models.CharField(max_length=200, primary_key=True)
    kind = models.CharField(max_length=80)
    done_at = models.DateTimeField()

    def __str__(self) -> str:
        """Return the key, as log lines show it."""
        return self.dedupe_key
