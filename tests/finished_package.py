"""A finished package of a client's own town: one requirement met, one let go."""

from typing import Any

from qa.models import CloseoutPackage
from repairs.models import Account
from tests.factories import RepairFactory, now
from tests.proof_factories import CloseoutPackageFactory, ClosingFactory

WAIVER = {"name": "Invented Person", "role": "engineer", "reason": "seen on the film"}
VERDICTS = [
    {"code": "hold_test", "outcome": "met", "reason": "it held"},
    {"code": "wet_out_photo", "outcome": "incomplete", "reason": "no photo", "waiver": WAIVER},
]


def a_package(account: Account, ref: str = "REP-1", **given: Any) -> CloseoutPackage:
    """Return a finished package of the account's town."""
    repair = RepairFactory(customer=account.customer, ref=ref)
    closing = ClosingFactory(repair=repair, verdicts=VERDICTS)
    given.setdefault("ready_at", now())
    return CloseoutPackageFactory(closing=closing, sha256="ab" * 32, size_bytes=2_000_000, **given)
