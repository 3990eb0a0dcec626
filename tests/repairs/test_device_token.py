"""Tokens of devices: what a programmer pastes into a command line, a header, a file."""

from datetime import timedelta

import pytest

from repairs.services.accounts import issue_device_token
from tests.factories import AccountFactory, now

pytestmark = pytest.mark.django_db


def test_a_token_may_stand_anywhere_without_quotes() -> None:
    """Only digits and letters, 256 bits of them: none begins like an option."""
    at = now()
    _, token = issue_device_token(
        account=AccountFactory(), label="invented", expires_at=at + timedelta(days=1), now=at
    )

    assert len(token) == 64
    assert set(token) <= set("0123456789abcdef")
