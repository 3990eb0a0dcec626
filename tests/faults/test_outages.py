"""The short form of ``python -m tests.faults.outages``: what the tests of the bell leave out."""

from pathlib import Path

import pytest

from tests.faults.broker import SERVER
from tests.faults.cluster import INITDB
from tests.faults.outages import play
from tests.required import missing

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("trouble", "database"), [("flushed", "sqlite"), ("two beats", "postgresql")]
)
def test_a_forgetful_broker_and_two_beats_do_no_harm(
    tmp_path: Path, trouble: str, database: str
) -> None:
    """Nothing lost, nothing doubled, nothing early; how late is for the long form to say."""
    if not SERVER or not INITDB:
        missing("no redis-server, or no PostgreSQL to start")

    account = play(tmp_path, trouble, seconds=3, postgres=database == "postgresql").account

    assert account.broken == [], account.text()
    assert account.accepted > 0, account.text()
