"""A link by which somebody without an account fetches one package for a while."""

import uuid

from django.db import models
from django.db.models import Q

from qa.models.closeout_package import CloseoutPackage
from qa.models.collected_package import CollectedPackage
from repairs.models import Account


class PackageLink(models.Model):
    """Made by somebody who may see the package, or by the service itself for a message.

    It leads to a closeout package or to a collected one, and ends by itself, or when it is
    called back. `made_by` is who asked for it; a link that went out with the message that the
    package is ready was asked for by nobody, and `sent_to` says whose message holds it. The
    address holds this row's id under the service's signature, so nobody guesses one.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    package = models.ForeignKey(
        CloseoutPackage, on_delete=models.PROTECT, null=True, related_name="links"
    )
    collected = models.ForeignKey(
        CollectedPackage, on_delete=models.PROTECT, null=True, related_name="links"
    )
    made_by = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    sent_to = models.ForeignKey(Account, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    called_back_at = models.DateTimeField(null=True)
    fetched = models.PositiveIntegerField(default=0)
    last_fetched_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(package__isnull=True) ^ Q(collected__isnull=True),
                name="link_to_one_package",
            ),
            models.CheckConstraint(
                condition=Q(made_by__isnull=True) ^ Q(sent_to__isnull=True),
                name="link_made_by_somebody_or_sent",
            ),
        ]

    @property
    def leads_to(self) -> CloseoutPackage | CollectedPackage:
        """The package whose file it gives."""
        found = self.package or self.collected
        assert found is not None  # noqa: S101 - the constraint holds one of them
        return found
