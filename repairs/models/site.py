"""Where a crew works."""

import uuid

from django.db import models

from repairs.models.customer import Customer
from repairs.models.kept import Kept


class Site(Kept):
    """A street or place with access points and runs, in one time zone."""

    kept = (
        "customer_id",
        "ref",
        "street",
        "time_zone",
    )

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    ref = models.CharField(max_length=60)
    street = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=60)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["customer", "ref"], name="site_ref_once_a_customer")
        ]

    def __str__(self) -> str:
        return f"{self.ref} {self.street}"
