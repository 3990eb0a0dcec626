"""One piece of work to be done at or after a moment: outbox and timer in one row."""

import uuid

from django.db import models


class WorkItem(models.Model):
    """A row of due work, written in the transaction of its cause.

    `payload` carries ids only: whoever does the work reads the truth again, so
    a late item can never act on old facts. `due_at` moves with the back-off;
    `wanted_at` stays what was asked for, and `late_s` says how much later than
    that the work was done. `held_by` names the runner that holds the lease, or
    held it last.
    """

    class State(models.TextChoices):
        """Where the item stands; only ``due`` and lapsed ``leased`` rows are claimed."""

        DUE = "due", "due"
        LEASED = "leased", "being done"
        DONE = "done", "done"
        DEAD = "dead", "given up after too many attempts"
        CANCELLED = "cancelled", "cancelled"
        EXPIRED = "expired", "too late to be useful, not done"

    MAX_ATTEMPTS = 8
    """Attempts before an item is put aside as ``dead`` (over four minutes of back-off)."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=80)
    subject_type = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=64)
    dedupe_key = models.CharField(max_length=200, unique=True)
    payload = models.JSONField(default=dict)
    due_at = models.DateTimeField()
    wanted_at = models.DateTimeField()
    useful_until = models.DateTimeField(null=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DUE)
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    held_by = models.CharField(max_length=120, blank=True, default="")
    attempts = models.PositiveSmallIntegerField(default=0)
    max_attempts = models.PositiveSmallIntegerField(default=MAX_ATTEMPTS)
    last_error = models.TextField(blank=True, default="")
    progress_percent = models.PositiveSmallIntegerField(default=0)
    created_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True)
    late_s = models.FloatField(null=True)

    class Meta:
        """The first index serves the claim; the constraint keeps a token on leased rows only."""

        indexes = [
            models.Index(fields=["state", "due_at", "id"], name="duework_state_due_at"),
            models.Index(fields=["subject_type", "subject_id"], name="duework_subject"),
        ]
        constraints = [
            models.CheckConstraint(
                name="duework_token_iff_leased",
                condition=models.Q(
                    state="leased", lease_token__isnull=False, lease_until__isnull=False
                )
                | (~models.Q(state="leased") & models.Q(lease_token__isnull=True)),
            )
        ]

    def __str__(self) -> str:
        """Return the kind and the key, as log lines show it."""
        return f"{self.kind} [{self.dedupe_key}] {self.state}"
