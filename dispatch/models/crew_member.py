"""A person of a crew."""

import uuid

from django.db import models

from dispatch.models.crew import Crew
from repairs.models import Account


class CrewMember(models.Model):
    """A person of one crew; with an account they may post and read its work."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="members")
    name = models.CharField(max_length=150)
    lead = models.BooleanField(default=False)
    account = models.OneToOneField(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="crew_member"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name
