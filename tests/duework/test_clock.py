"""The clock by which leases are judged."""

import time
from datetime import UTC

import pytest
from django.db import transaction
from django.utils import timezone

from duework.clock import db_now


@pytest.mark.django_db
def test_the_clock_is_aware_utc_and_near_ours() -> None:
    """Database and test run on one host, so they agree within a second."""
    now = db_now()

    assert now.utcoffset() == timezone.now().astimezone(UTC).utcoffset()
    assert abs((timezone.now() - now).total_seconds()) < 1


@pytest.mark.django_db
def test_the_clock_moves_on_inside_a_transaction() -> None:
    """A long transaction must not believe that its lease stands still."""
    with transaction.atomic():
        before = db_now()
        time.sleep(0.01)

        assert db_now() > before
