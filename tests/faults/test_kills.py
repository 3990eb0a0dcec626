"""The short form of ``python -m tests.faults.kills``: fifty kills, half on each database."""

import time
from pathlib import Path

import pytest

from tests.faults.broker import SERVER
from tests.faults.cluster import INITDB
from tests.faults.kills import run
from tests.required import missing

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_fifty_kills_lose_and_double_nothing(tmp_path: Path, database: str) -> None:
    """Web, worker, tickers, Redis and PostgreSQL's own processes, shot at random under load."""
    if not SERVER or (database == "postgresql" and not INITDB):
        missing("no redis-server, or no PostgreSQL to start")
    seed = time.time_ns() % 10**6

    account = run(tmp_path, kills=25, postgres=database == "postgresql", seed=seed, pause_s=0.4)

    story = f"seed {seed}\n{account.text()}"
    assert account.broken == [], story
    assert account.kills.total() == 25, story
    assert account.accepted > 0, f"nothing was written: nothing was tested; {story}"
