"""Starts and stops the service's own processes: the web server and the workers."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO, Self

import httpx
from django.conf import settings

READY_WITHIN_S = 30.0
STOP_WITHIN_S = 15.0


def free_port() -> int:
    """Return a port on this machine that nobody listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def web_command(host: str, port: int, workers: int) -> list[str]:
    """Return the command of the web server.

    Several threads a process: an upload over a bad line holds one for minutes.
    """
    return [
        *(sys.executable, "-m", "granian", "--interface", "wsgi"),
        *("--host", host, "--port", str(port), "--workers", str(workers)),
        *("--blocking-threads", str(settings.WEB_THREADS), "--no-ws", "--log-level", "warning"),
        # When one worker dies the others are asked to end, and all are started anew: one
        # that does not end is not waited for, or the server would live and not listen.
        *("--workers-kill-timeout", "5"),
        "config.wsgi:application",
    ]


def worker_command() -> list[str]:
    """Return the command of a worker: a Celery worker where there is a broker, else a ticker."""
    if settings.BROKER_URL:
        return [
            *(sys.executable, "-m", "celery", "-A", "config", "worker"),
            *("--concurrency", "2", "--loglevel", "warning"),
            *("--without-gossip", "--without-mingle"),
        ]
    return [sys.executable, "manage.py", "run_due"]


class Processes:
    """The service's processes by name; leaving the ``with`` block leaves none running."""

    def __init__(self, environment: Mapping[str, str], log_folder: Path | None = None) -> None:
        self.environment = {**os.environ, **environment}
        self.log_folder = log_folder
        self.commands: dict[str, Sequence[str]] = {}
        self.running: dict[str, subprocess.Popen[bytes]] = {}

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(self, *_exc: object) -> None:
        """Stop everything."""
        self.stop()

    def start(self, name: str, command: Sequence[str]) -> None:
        """Start a process in a group of its own, so that its children end with it."""
        self.commands[name] = command
        with self._log(name) as log:
            self.running[name] = subprocess.Popen(
                command,
                cwd=settings.BASE_DIR,
                env=self.environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def kill(self, name: str) -> None:
        """Kill a process and its children with SIGKILL, as a crash would."""
        process = self.running.pop(name)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    def restart(self, name: str) -> None:
        """Start a process again with the command it had."""
        self.start(name, self.commands[name])

    def ended(self) -> list[str]:
        """Return the names of processes that have ended by themselves."""
        return [name for name, process in self.running.items() if process.poll() is not None]

    def stop(self) -> None:
        """Ask all to end, and end those that do not."""
        for process in self.running.values():
            if process.poll() is None:
                process.terminate()
        deadline = time.monotonic() + STOP_WITHIN_S
        for process in self.running.values():
            try:
                process.wait(timeout=max(deadline - time.monotonic(), 0.1))
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
        self.running.clear()

    def _log(self, name: str) -> IO[bytes]:
        if self.log_folder is None:
            return os.fdopen(os.dup(sys.stderr.fileno()), "wb")
        self.log_folder.mkdir(parents=True, exist_ok=True)
        return (self.log_folder / f"{name}.log").open("ab")


def wait_until_ready(base_url: str, processes: Processes) -> None:
    """Wait until the service says it is ready; TimeoutError when it does not in time."""
    deadline = time.monotonic() + READY_WITHIN_S
    last = "no answer"
    while time.monotonic() < deadline:
        if ended := processes.ended():
            raise TimeoutError(f"{', '.join(ended)} ended while starting; see its log")
        try:
            answer = httpx.get(f"{base_url}/readyz", timeout=2)
        except httpx.HTTPError as error:
            last = str(error)
        else:
            if answer.is_success:
                return
            last = answer.text
        time.sleep(0.1)
    raise TimeoutError(f"not ready within {READY_WITHIN_S:.0f} s: {last}")
