"""A real server and a real worker in processes of their own, on a database of their own.

The fixture `live` is for tests that come from outside: they know an address, names
and passwords, and nothing of Django. On PostgreSQL a fresh database is made beside
the one the suite was given; on SQLite it is a file.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
import requests
from django.conf import settings

from config.processes import Processes, free_port, wait_until_ready, web_command, worker_command

TIMEOUT_S = 20
WEB_PROCESSES = 2


@dataclass(frozen=True)
class Live:
    """Where the server is, and whom it knows."""

    base_url: str
    told: dict[str, Any]

    @property
    def api(self) -> str:
        """The root of the API."""
        return f"{self.base_url}/api/v1"

    def sign_in(self, who: str) -> requests.Session:
        """Return a session of somebody the server knows, ready to post."""
        session = requests.Session()
        body = {"username": self.told[who], "password": self.told["password"]}
        answer = session.post(f"{self.api}/session", json=body, timeout=TIMEOUT_S)
        answer.raise_for_status()
        session.headers["X-CSRFToken"] = answer.json()["csrf_token"]
        session.headers["Referer"] = self.base_url
        return session


@pytest.fixture(scope="session")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """Start server and worker once for all tests, and end them."""
    folder = tmp_path_factory.mktemp("live")
    with own_database(folder) as url:
        environment = {
            "CUREWRIGHT_DEBUG": "yes",
            "CUREWRIGHT_VAR": str(folder),
            "CUREWRIGHT_DATABASE_URL": url,
            "CUREWRIGHT_TICK_S": "1",
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        told = _seeded(environment)
        port = free_port()
        with Processes(environment, folder / "logs") as processes:
            processes.start("web", web_command("127.0.0.1", port, WEB_PROCESSES))
            processes.start("worker", worker_command())
            address = f"http://127.0.0.1:{port}"
            wait_until_ready(address, processes)
            yield Live(address, told)


class own_database:  # noqa: N801 - it reads as a verb in a with statement
    """A database that nobody else uses, gone afterwards."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.name = f"cw_live_{uuid4().hex[:12]}"

    def __enter__(self) -> str:
        """Make it and return its address."""
        if "postgres" not in settings.DATABASES["default"]["ENGINE"]:
            return f"sqlite:///{self.folder / 'live.sqlite3'}"
        self._say(f"CREATE DATABASE {self.name}")
        return settings.DATABASE_URL.rpartition("/")[0] + f"/{self.name}"

    def __exit__(self, *_exc: object) -> None:
        """Take it away."""
        if "postgres" in settings.DATABASES["default"]["ENGINE"]:
            self._say(f"DROP DATABASE IF EXISTS {self.name} WITH (FORCE)")

    @staticmethod
    def _say(command: str) -> None:
        server = settings.DATABASE_URL.rpartition("/")[0] + "/postgres"
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(command)  # type: ignore[arg-type]


def _seeded(environment: dict[str, str]) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.live_seed"]
    found = subprocess.run(
        command,
        cwd=settings.BASE_DIR,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode == 0, found.stderr
    return dict(json.loads(found.stdout))
