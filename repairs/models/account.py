"""A person, device or service that may come to the door."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from repairs.domain.roles import CREW, OFFICE, Role
from repairs.models.customer import Customer


class Account(AbstractUser):
    """Signs in by name and password, or by a device token.

    A client account belongs to one customer and sees only that customer's
    work; which crew an account belongs to is kept by dispatch.
    """

    role = models.CharField(max_length=20, choices=[(role.value, role.value) for role in Role])
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="accounts"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role=Role.CLIENT.value, customer__isnull=False)
                | (~models.Q(role=Role.CLIENT.value) & models.Q(customer__isnull=True)),
                name="client_has_customer_and_nobody_else_has",
            )
        ]

    @property
    def display_name(self) -> str:
        """The name a report prints: the person's, or the sign-in name."""
        return self.get_full_name() or self.username

    @property
    def is_office(self) -> bool:
        """Whether the account works in the contractor's office."""
        return self.role in OFFICE

    @property
    def is_crew(self) -> bool:
        """Whether the account works in the street."""
        return self.role in CREW
