"""Renewal while slow work runs."""

import time
from collections.abc import Callable
from datetime import timedelta

import pytest

from duework import lease as leases
from duework.claim import claim
from duework.domain.work import LeaseLostError
from duework.lease import RenewedLease
from duework.models import WorkItem
from tests.duework.due_moments import NOW

Due = Callable[..., WorkItem]
pytestmark = pytest.mark.django_db(transaction=True)
LEASE_S = 0.3


def test_a_lease_is_renewed_while_the_work_runs(due: Due) -> None:
    """Long work keeps its lease."""
    due()
    item = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]
    later = NOW + timedelta(minutes=10)

    with RenewedLease(item, lease_s=LEASE_S, clock=lambda: later) as lease:
        time.sleep(0.4)
        lease.check()

    assert WorkItem.objects.get().lease_until == later + timedelta(seconds=LEASE_S)


def test_renewal_notices_a_loss(due: Due) -> None:
    """Without any report, the work learns that another took over."""
    due()
    item = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]
    claim(limit=1, now=NOW + timedelta(hours=1), lease_s=LEASE_S)

    with RenewedLease(item, lease_s=LEASE_S, clock=lambda: NOW) as lease:
        time.sleep(0.4)
        with pytest.raises(LeaseLostError):
            lease.check()


def test_work_that_hangs_loses_its_renewal(due: Due, monkeypatch: pytest.MonkeyPatch) -> None:
    """After the longest run the lease is let go, for somebody else."""
    monkeypatch.setattr(leases, "LONGEST_RUN_S", 0.0)
    due()
    item = claim(limit=1, now=NOW, lease_s=LEASE_S).items[0]

    with RenewedLease(item, lease_s=LEASE_S, clock=lambda: NOW + timedelta(hours=1)):
        time.sleep(0.4)

    assert WorkItem.objects.get().lease_until == NOW + timedelta(seconds=LEASE_S)


def test_progress_is_kept_within_0_and_100(due: Due) -> None:
    """A clumsy estimate is cut, not refused: the work matters more."""
    due()
    item = claim(limit=1, now=NOW, lease_s=60).items[0]

    with RenewedLease(item, lease_s=60, clock=lambda: NOW) as lease:
        lease.report(140)

    assert WorkItem.objects.get().progress_percent == 100
