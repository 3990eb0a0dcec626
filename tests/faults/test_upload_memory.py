"""A large upload is passed on block by block, never held."""

from pathlib import Path

import pytest

from tests.faults.upload_memory import grown_mb

pytestmark = pytest.mark.slow


def test_a_large_upload_takes_little_memory(tmp_path: Path) -> None:
    """200 MB in one piece, at most 64 MB more; ``--megabytes 2000`` by hand."""
    grown, state = grown_mb(200, tmp_path)

    assert state == "204 200000000"
    assert grown <= 64
