"""The owner of the pipes."""

import uuid

from django.db import models


class Customer(models.Model):
    """A municipality or utility whose pipes are repaired, known by a short code."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=200)
    contact_email = models.EmailField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name
