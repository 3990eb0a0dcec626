"""A database of its own and the processes started on it."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import psycopg

ROOT = Path(__file__).resolve().parents[2]


class Place:
    """A database of its own, and the processes started on it."""

    def __init__(self, url: str, folder: Path) -> None:
        """Keep the address; make nothing yet."""
        self.url = url
        self.folder = folder
        self._started: list[subprocess.Popen[bytes]] = []

    def start(self, *command: str, **environment: str) -> subprocess.Popen[bytes]:
        """Start ``python -m command`` in a process group of its own."""
        known = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "CUREWRIGHT_DEBUG": "yes"}
        settings = {
            "DJANGO_SETTINGS_MODULE": "tests.faults.killable.settings",
            "CUREWRIGHT_DATABASE_URL": self.url,
            "CUREWRIGHT_LEASE_S": "2",
            "CUREWRIGHT_TICK_S": "1",
            "KILLABLE_FOLDER": str(self.folder),
        }
        with (self.folder / "log.txt").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", *command],
                cwd=ROOT,
                env=known | settings | environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        self._started.append(process)
        return process

    def run(self, *command: str, **environment: str) -> int:
        """Run ``python -m command`` to its end and return its exit code."""
        return self.start(*command, **environment).wait(timeout=300)

    def fill(self, *wanted: str, **environment: str) -> int:
        """Write due rows, as ``quick=3``."""
        return self.run("tests.faults.killable.fill", *wanted, **environment)

    def runner(self, *options: str, **environment: str) -> subprocess.Popen[bytes]:
        """Start ``run_due``."""
        return self.start("django", "run_due", *options, **environment)

    def rows_at_last(self, sql: str, within_s: float = 20.0) -> list[tuple[object, ...]]:
        """Return what the database holds, once a server that was shot has recovered."""
        end = time.monotonic() + within_s
        while True:
            try:
                return self.rows(sql)
            except psycopg.OperationalError:
                if time.monotonic() > end:
                    raise
                time.sleep(0.1)

    def rows(self, sql: str) -> list[tuple[object, ...]]:
        """Return what the database holds, asked from outside the project."""
        if self.url.startswith("sqlite"):
            with closing(sqlite3.connect(self.url.removeprefix("sqlite:///"), 20)) as lite, lite:
                return lite.execute(sql).fetchall()
        with psycopg.connect(self.url) as pg:
            found = pg.execute(sql)
            return found.fetchall() if found.description else []

    def until(self, reached: Callable[[], bool], within_s: float) -> None:
        """Wait until `reached` is true; fail with the processes' log when it never is."""
        end = time.monotonic() + within_s
        while not reached():
            if time.monotonic() > end:
                log = (self.folder / "log.txt").read_text(errors="replace")[-4_000:]
                raise TimeoutError(f"Not reached within {within_s} s. The processes said:\n{log}")
            time.sleep(0.1)

    def unfinished(self) -> int:
        """Return how many items are not done."""
        ((count,),) = self.rows_at_last(
            "SELECT count(*) FROM duework_workitem WHERE state <> 'done'"
        )
        return int(str(count))

    def end(self) -> None:
        """Kill what this place started."""
        for process in self._started:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
