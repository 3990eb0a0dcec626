"""Something that was not as required."""

import uuid

from django.db import models

from repairs.models import Account, Repair


class Nonconformance(models.Model):
    """A breach that a rule found or a person reported, and what was decided about it.

    A rule withdraws what it found when later facts show that all was well; a person withdraws a
    slip, and then `withdrawn_by` and `withdrawn_reason` say so. `accepted_by_name` and `_role` say
    who on the client's side accepted it as it is.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    repair = models.ForeignKey(Repair, on_delete=models.PROTECT, related_name="nonconformances")
    attempt = models.PositiveSmallIntegerField()
    code = models.CharField(max_length=60)
    words = models.TextField()
    found_by_rule = models.BooleanField()
    opened_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    opened_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)
    withdrawn_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    withdrawn_reason = models.TextField(blank=True)
    disposition = models.CharField(max_length=40, blank=True)
    disposition_reason = models.TextField(blank=True)
    done_at = models.DateTimeField(null=True)
    done_evidence = models.JSONField(default=list)
    root_cause = models.TextField(blank=True)
    evidence = models.JSONField(default=list)
    decided_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    decided_at = models.DateTimeField(null=True)
    accepted_by_name = models.CharField(max_length=150, blank=True)
    accepted_by_role = models.CharField(max_length=100, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["repair", "attempt", "code"],
                condition=models.Q(found_by_rule=True),
                name="a_rule_speaks_once_an_attempt",
            )
        ]
        ordering = ["opened_at", "id"]

    @property
    def decider(self) -> str:
        """Say who wrote the decision down, name and role; empty while there is none."""
        if self.decided_by is None:
            return ""
        return f"{self.decided_by.display_name}, {self.decided_by.role.replace('_', ' ')}"

    @property
    def accepted_words(self) -> str:
        """Say who accepted it as it is; empty where nobody had to."""
        if not self.accepted_by_name:
            return ""
        return f" by {self.accepted_by_name}, {self.accepted_by_role}"
