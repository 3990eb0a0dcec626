"""A contract's requirements: limits, fitness rules and what must be proved."""

import uuid

from django.db import models


class RequirementSet(models.Model):
    """One version of a contract's rules; a version in use is never changed, a new one is added.

    `limits` holds ``{name: {"value": ..., "source": ...}}``; `fitness_rules` and
    `requirements` are tables of dictionaries, checked on entry by the domain. `escalation`
    and `terms` say who is told when, `pay` what the client pays by; empty means what is usual.
    `accepts_as_is` names who on the client's side may accept a nonconformance as it is.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=100)
    version = models.PositiveIntegerField()
    limits = models.JSONField()
    fitness_rules = models.JSONField()
    requirements = models.JSONField()
    qualifications = models.JSONField(default=list)
    escalation = models.JSONField(default=dict)
    terms = models.JSONField(default=dict)
    pay = models.JSONField(default=list)
    accepts_as_is = models.JSONField(default=list)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="requirement_set_version_once")
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}"
