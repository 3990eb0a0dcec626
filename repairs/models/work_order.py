"""What a client orders together."""

import uuid

from django.db import models

from repairs.models.customer import Customer
from repairs.models.kept import Kept
from repairs.models.requirement_set import RequirementSet


class WorkOrder(Kept):
    """A customer's order under one version of its contract's requirement set."""

    kept = (
        "customer_id",
        "number",
        "requirement_set_id",
        "promised_by",
    )

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="work_orders")
    number = models.CharField(max_length=60)
    requirement_set = models.ForeignKey(
        RequirementSet, on_delete=models.PROTECT, related_name="work_orders"
    )
    promised_by = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["customer", "number"], name="work_order_number_once_a_customer"
            )
        ]

    def __str__(self) -> str:
        return self.number
