"""The people of the invented day, and how their accounts are opened."""

import secrets
from dataclasses import dataclass

from repairs.domain.roles import Role
from repairs.models import Customer
from repairs.services.accounts import open_account


@dataclass(frozen=True)
class Person:
    """Somebody invented, by sign-in name, role and printed name."""

    username: str
    role: Role
    name: str
    customer: str = ""


CUSTOMERS = {"TOWN": "Invented Town, Drainage", "OTHERTOWN": "Other Invented Town"}

CAST = (
    Person("dora", Role.DISPATCHER, "Dora Dispatch"),
    Person("rita", Role.REVIEWER, "Rita Review"),
    Person("nora", Role.CREW_LEAD, "Nora North"),
    Person("sam", Role.CREW_LEAD, "Sam South"),
    Person("clara", Role.CLIENT, "Clara Client", "TOWN"),
    Person("otto", Role.CLIENT, "Otto Other", "OTHERTOWN"),
)


def open_accounts() -> dict[str, str]:
    """Open all accounts and return each one's password, made at random for this run."""
    customers = {
        code: Customer.objects.create(code=code, name=name) for code, name in CUSTOMERS.items()
    }
    passwords = {}
    for person in CAST:
        passwords[person.username] = secrets.token_urlsafe(12)
        open_account(
            username=person.username,
            password=passwords[person.username],
            role=person.role,
            full_name=person.name,
            customer=customers.get(person.customer),
        )
    return passwords
