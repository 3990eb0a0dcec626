"""Real processes on a real database: SQLite always, PostgreSQL where it answers."""

import getpass
import os
import uuid
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from tests.faults.broker import SERVER, Broker
from tests.faults.place import Place
from tests.required import missing


def _postgres() -> str | None:
    """Return the address of a PostgreSQL in which databases may be made, if one answers."""
    given = os.environ.get("CUREWRIGHT_TEST_DATABASE_URL", "")
    near = f"postgres://{getpass.getuser()}@127.0.0.1:5432/postgres"
    url = given if given.startswith("postgres") else near
    try:
        url = urlsplit(url)._replace(path="/postgres").geturl()
        psycopg.connect(url, connect_timeout=2).close()
    except psycopg.OperationalError:
        return None
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    """Return an empty database of its own; gone, with its processes, after the test."""
    if request.param == "sqlite":
        lite = Place(f"sqlite:///{tmp_path / 'due.sqlite3'}", tmp_path)
        yield lite
        lite.end()
        return
    server = _postgres()
    if server is None:
        missing("no PostgreSQL answers")
    name = f"curewright_faults_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(server, autocommit=True) as pg:
        pg.execute(f"CREATE DATABASE {name}".encode())
        served = Place(urlsplit(server)._replace(path=f"/{name}").geturl(), tmp_path)
        yield served
        served.end()
        pg.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    """Return a running Redis of its own, gone after the test."""
    if not SERVER:
        missing("no redis-server here")
    found = Broker(tmp_path)
    yield found
    found.end()
