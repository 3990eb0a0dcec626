"""Puts the cast and two plannable repairs into the live server's database; run by its fixture.

``python -m tests.live_seed`` prints, as JSON, what a test needs to know of them.
"""

import json
import sys
from datetime import timedelta

import django

django.setup()

# The models are there only now.
from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402

from repairs.domain.roles import Role  # noqa: E402
from repairs.services.accounts import issue_device_token  # noqa: E402
from tests.factories import (  # noqa: E402
    AccountFactory,
    CrewFactory,
    CustomerFactory,
    RepairFactory,
)
from tests.proof_factories import AssignmentFactory, PrescriptionFactory  # noqa: E402
from tests.proved_repair import a_ready_crew  # noqa: E402

PASSWORD = "an invented password"
PAIRS = 8
"""So many times two dispatchers reach for the same hours of one crew."""


def main() -> None:
    """Migrate, make the rows, and print their names."""
    call_command("migrate", verbosity=0)
    crew = CrewFactory(code="CREW-LIVE")
    lead, _, _ = a_ready_crew(crew=crew)
    crew.kit_stock.update(quantity=100)
    customer = CustomerFactory(code="TOWN-LIVE")
    dispatcher, client = (
        AccountFactory(username=name, role=role.value, customer=owner)
        for name, role, owner in (
            ("dispatcher", Role.DISPATCHER, None),
            ("client", Role.CLIENT, customer),
        )
    )
    for account in (dispatcher, client, lead.account):
        account.set_password(PASSWORD)
        account.save()
    going = RepairFactory(customer=customer)
    AssignmentFactory(repair=going, crew=crew)
    at = timezone.now()
    _, token = issue_device_token(
        account=lead.account, label="invented", expires_at=at + timedelta(days=1), now=at
    )
    spare = [PrescriptionFactory(repair=RepairFactory()).repair for _ in range(2 * PAIRS)]
    told = {
        "password": PASSWORD,
        "dispatcher": dispatcher.username,
        "client": client.username,
        "lead": lead.account.username,
        "crew_token": token,
        "crew": crew.code,
        "repair": str(going.id),
        "spare": [str(repair.id) for repair in spare],
    }
    sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main()
