"""A link by which somebody without an account fetches one package for a while."""

import uuid

from django.db import models

from qa.models.closeout_package import CloseoutPackage
from repairs.models import Account


class PackageLink(models.Model):
    """Made by somebody who may see the package; it ends by itself, or when it is called back.

    The address holds this row's id under the service's signature, so nobody guesses one.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    package = models.ForeignKey(CloseoutPackage, on_delete=models.PROTECT, related_name="links")
    made_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    called_back_at = models.DateTimeField(null=True)
    fetched = models.PositiveIntegerField(default=0)
    last_fetched_at = models.DateTimeField(null=True)
