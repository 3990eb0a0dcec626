"""The fixed cast of the tests, made on demand: whom a test does not name is not there.

Customer one's repairs are done by crew one. `other_crew_lead` belongs to crew
two, `stranger_client` to customer two: neither should see any of it.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from django.core.cache import cache
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings

from dispatch.models import Crew
from repairs.domain.roles import Role
from repairs.models import Account, Customer
from tests.append_only import flush_past_the_triggers
from tests.factories import AccountFactory, CrewFactory, CrewMemberFactory, CustomerFactory

# Every property is tried on 300 examples. The machine is shared: how long one example takes
# says nothing of the code.
settings.register_profile(
    "shared", max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
# For a mutation run, which must give the same answer twice; see docs/mutation.md.
settings.register_profile(
    "mutation",
    settings.get_profile("shared"),
    max_examples=60,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],  # a dead mutant needs no smallest example
)
settings.load_profile("shared")

pytest_plugins = ["tests.parts", "tests.live_server"]


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None) -> None:  # noqa: ARG001 - the database is there first
    """Make the database as ever, and let it be emptied between tests."""
    flush_past_the_triggers()


@pytest.fixture(autouse=True)
def _no_sign_ins_counted() -> None:
    """Forget how often somebody tried to sign in: the limit is asked by its own test."""
    cache.clear()


@pytest.fixture
def customer(db: None) -> Customer:  # noqa: ARG001 - rows need the database
    """Return customer one."""
    return CustomerFactory(code="TOWN-ONE")


@pytest.fixture
def crew(db: None) -> Crew:  # noqa: ARG001 - rows need the database
    """Return crew one, without people yet."""
    return CrewFactory(code="CREW-ONE")


@pytest.fixture
def dispatcher(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return a dispatcher."""
    return AccountFactory(username="dispatcher")


@pytest.fixture
def reviewer(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return a reviewer."""
    return AccountFactory(username="reviewer", role=Role.REVIEWER.value)


@pytest.fixture
def administrator(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return an administrator."""
    return AccountFactory(username="administrator", role=Role.ADMINISTRATOR.value)


@pytest.fixture
def service_account(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return the account of another program."""
    return AccountFactory(username="service", role=Role.SERVICE.value)


@pytest.fixture
def crew_lead(crew: Crew) -> Account:
    """Return the lead of crew one."""
    member = CrewMemberFactory(crew=crew, lead=True, account__username="crew-lead")
    return member.account


@pytest.fixture
def crew_member(crew: Crew) -> Account:
    """Return another member of crew one."""
    member = CrewMemberFactory(
        crew=crew, account__username="crew-member", account__role=Role.CREW_MEMBER.value
    )
    return member.account


@pytest.fixture
def other_crew_lead(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return the lead of crew two."""
    member = CrewMemberFactory(
        crew__code="CREW-TWO", lead=True, account__username="other-crew-lead"
    )
    return member.account


@pytest.fixture
def client_user(customer: Customer) -> Account:
    """Return a client of customer one."""
    return AccountFactory(username="client", role=Role.CLIENT.value, customer=customer)


@pytest.fixture
def stranger_client(db: None) -> Account:  # noqa: ARG001 - rows need the database
    """Return a client of customer two."""
    return AccountFactory(
        username="stranger-client",
        role=Role.CLIENT.value,
        customer=CustomerFactory(code="TOWN-TWO"),
    )


@pytest.fixture(scope="module")
def module_rows(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:  # noqa: ARG001
    """Keep rows made by other module-wide fixtures for all tests of a file, then take them back.

    Each test's own transaction is a savepoint inside this one.
    """
    with django_db_blocker.unblock():
        atomic = transaction.atomic()
        # As Django's own TestCase does, so that `durable` blocks may run inside.
        atomic._from_testcase = True  # noqa: SLF001
        with atomic:
            yield
            transaction.set_rollback(True)
