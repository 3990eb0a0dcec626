"""What a person decided about work that was given up or came too late."""

from typing import Any, NoReturn

from django.db import models

LONGEST_REASON = 500


class Ruling(models.Model):
    """Who let put-aside work be tried again, or dropped it, when and why; never changed.

    It names its item as text, so that it outlives the purge of the row.
    """

    class Word(models.TextChoices):
        """What was decided."""

        RETRY = "retry", "try again"
        DROP = "drop", "drop"

    item_id = models.UUIDField(db_index=True)
    dedupe_key = models.CharField(max_length=200)
    kind = models.CharField(max_length=80)
    word = models.CharField(max_length=10, choices=Word.choices)
    reason = models.CharField(max_length=LONGEST_REASON)
    ruled_by = models.CharField(max_length=150)
    ruled_at = models.DateTimeField()
    state_before = models.CharField(max_length=10)
    attempts_before = models.PositiveSmallIntegerField()
    error_before = models.TextField(blank=True)

    class Meta:
        """Newest first, as people look."""

        ordering = ["-ruled_at", "-pk"]

    def __str__(self) -> str:
        """Return the decision and the key, as log lines show it."""
        return f"{self.word} [{self.dedupe_key}] by {self.ruled_by}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert; a stored ruling is never written again."""
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *_args: Any, **_kwargs: Any) -> NoReturn:
        """Refuse: whoever thinks otherwise rules again."""
        raise TypeError("a ruling is never deleted; rule again")
