"""What a person may do, until when."""

import uuid

from django.db import models

from dispatch.models.crew_member import CrewMember
from repairs.models.kept import Kept


class Qualification(Kept):
    """A certificate of one crew member; it must be valid on the work date."""

    kept = (
        "member_id",
        "kind",
        "reference",
        "expires_on",
    )

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    member = models.ForeignKey(CrewMember, on_delete=models.CASCADE, related_name="qualifications")
    kind = models.CharField(max_length=60)
    reference = models.CharField(max_length=100, blank=True)
    expires_on = models.DateField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["member", "kind", "expires_on"], name="qualification_once"
            )
        ]
