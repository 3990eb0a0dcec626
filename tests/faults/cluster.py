"""A PostgreSQL server of its own, whose backends may be killed: the whole server recovers then."""

import contextlib
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Self

import psycopg


def _program(name: str) -> str:
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(found[-1]) if found else shutil.which(name) or ""


INITDB, POSTGRES = _program("initdb"), _program("postgres")


class Cluster:
    """A fresh server with every sync on; gone, with its folder, after the ``with`` block."""

    def __init__(self) -> None:
        """Make the folder and start the server."""
        # PostgreSQL refuses to run as root: then it runs as its own user.
        self._user = "postgres" if os.getuid() == 0 else None
        # In memory where there is some: a killed process loses nothing there that a disk keeps,
        # and recovery, which syncs the whole folder first, takes a moment instead of seconds.
        memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # noqa: S108
        self.folder = Path(tempfile.mkdtemp(prefix="faults-pg-", dir=memory))
        if self._user:
            shutil.chown(self.folder, self._user)
        me = self._user or pwd.getpwuid(os.getuid()).pw_name
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.url = f"postgres://{me}@127.0.0.1:{port}/postgres"
        data = str(self.folder / "data")
        subprocess.run(
            [INITDB, "-D", data, "-A", "trust", "-E", "UTF8"],
            check=True,
            capture_output=True,
            user=self._user,
            cwd=self.folder,
        )
        options = ("-p", str(port), "-k", str(self.folder), "-c", "listen_addresses=127.0.0.1")
        self._log = (self.folder / "log.txt").open("ab")
        self._process = subprocess.Popen(
            [POSTGRES, "-D", data, *options],
            stdout=self._log,
            stderr=self._log,
            user=self._user,
            cwd=self.folder,
        )
        self._wait()

    def __enter__(self) -> Self:
        """Return the running server."""
        return self

    def __exit__(self, *_: object) -> None:
        """End it at once."""
        self._process.send_signal(signal.SIGQUIT)
        self._process.wait(timeout=20)
        self._log.close()
        shutil.rmtree(self.folder, ignore_errors=True)

    def backends(self) -> list[int]:
        """Return the process ids that serve somebody else's connection; none while recovering."""
        ask = (
            "SELECT pid FROM pg_stat_activity WHERE backend_type = 'client backend' "
            "AND pid <> pg_backend_pid()"
        )
        try:
            with psycopg.connect(self.url, connect_timeout=2) as pg:
                return [pid for (pid,) in pg.execute(ask)]
        except psycopg.OperationalError:
            return []

    def _wait(self) -> None:
        for _ in range(200):
            with contextlib.suppress(psycopg.OperationalError):
                psycopg.connect(self.url, connect_timeout=2).close()
                return
            time.sleep(0.1)
        raise TimeoutError("the new PostgreSQL server does not answer")
