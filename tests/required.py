"""What a test needs and this machine lacks: skipped at home, a failure where CI asks for all."""

import os
from typing import NoReturn

import pytest


def missing(what: str) -> NoReturn:
    """Skip, or fail where everything is required."""
    if os.environ.get("CUREWRIGHT_TEST_SERVICES") == "required":
        pytest.fail(f"CUREWRIGHT_TEST_SERVICES=required, but {what}")
    pytest.skip(what)
