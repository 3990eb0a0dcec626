"""The whole company under test: web, worker, tickers and Redis, each ready to be shot."""

import contextlib
import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.faults.broker import Broker
from tests.faults.cluster import Cluster
from tests.faults.place import Place

GROWN_UP_S = {"web": 3.5}
OTHERS_GROWN_UP_S = 1.5
"""A process is shot once it has had time to start: shooting at birth tests little. The web
server has had time to take some letters, or there would be nothing to lose."""

DOOR_OPENS_WITHIN_S = 6.0
LANES = 3
"""Tickers of a runner: what is quick, what is slow, what waits for the outside."""
DEAF_AFTER_S = 8.0
"""A server whose worker was shot takes a while to end: only then it is deaf."""

WEIGHTS = {"web": 1, "web child": 1, "worker": 1, "worker child": 3, "ticker": 2, "redis": 1}
"""How often each is chosen; a child stands for one process of a pool."""


class Company:
    """Starts everybody, shoots somebody, and brings back whoever fell, as an init system does."""

    def __init__(
        self,
        place: Place,
        broker: Broker | None,
        cluster: Cluster | None = None,
        *,
        beats: int = 0,
        **environment: str,
    ) -> None:
        """Start them all on the place's database; without a broker there is no worker."""
        self.place, self.broker, self.cluster = place, broker, cluster
        self._environment = environment
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = int(free.getsockname()[1])
        web = ("granian", "--interface", "wsgi", "--host", "127.0.0.1", "--port", str(self.port))
        more = ("--workers", "2", "--blocking-threads", "1", "--no-ws", "--log-level", "error")

        kill = ("--workers-kill-timeout", "5")  # as config.processes.web_command
        worker = ("celery", "-A", "config", "worker", "-c", "2", "-l", "error")
        self._commands = {
            "web": (*web, *more, *kill, "tests.faults.killable.wsgi:application"),
            "worker": (*worker, "--without-mingle", "--without-gossip", "--without-heartbeat"),
            "ticker 1": ("django", "run_due"),
            "ticker 2": ("django", "run_due"),
        }
        if broker is None:
            del self._commands["worker"]
        for beat in range(beats):
            kept = str(place.folder / f"beat-{beat}")
            app = ("celery", "-A", "tests.faults.killable.beating", "beat", "-l", "error")
            self._commands[f"beat {beat}"] = (*app, "-s", kept, "--pidfile=")
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        self._born: dict[str, float] = {}
        self.unhealthy, self._heard_s = 0, time.monotonic()
        place.fill("quick=0")
        self.raise_the_fallen()

    def raise_the_fallen(self) -> None:
        """Start again whoever is not there."""
        if self.broker and self.broker.process.poll() is not None:
            self.broker.start()
            self._born["redis"] = time.monotonic()
        environment = dict(self._environment)
        if self.broker:
            environment["CUREWRIGHT_BROKER_URL"] = self.broker.url
        self._check_the_door()
        for name, command in self._commands.items():
            process = self._running.get(name)
            if process is None or process.poll() is not None:
                started = self.place.start(*command, **environment)
                self._running[name], self._born[name] = started, time.monotonic()

    def wait_until_all_work(self) -> None:
        """Wait until the door is open and each ticker of each runner has beaten its heart."""
        runners = 2 + (2 if self.broker else 0)  # two tickers, two children of the worker
        beats = "SELECT count(*) FROM duework_runnerheartbeat"

        def ready() -> bool:
            with socket.socket() as door:
                open_ = door.connect_ex(("127.0.0.1", self.port)) == 0
            return open_ and self.place.rows(beats) == [(LANES * runners,)]

        self.place.until(ready, within_s=30)

    def _check_the_door(self) -> None:
        """End a web server that lives and has not listened for long, as health checks do."""
        process = self._running.get("web")
        now = time.monotonic()
        if process is None or now - self._born["web"] < DOOR_OPENS_WITHIN_S:
            self._heard_s = now
            return
        with socket.socket() as door:
            if door.connect_ex(("127.0.0.1", self.port)) == 0 or process.poll() is not None:
                self._heard_s = now
        if now - self._heard_s > DEAF_AFTER_S:
            self.unhealthy += 1
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()

    def shoot(self, chance: random.Random) -> str | None:
        """Kill somebody with SIGKILL and say whom; None when all are too young."""
        targets = list(self._targets())
        if not targets:
            return None
        weights = [weight for _, weight, _ in targets]
        name, _, shot = chance.choices(targets, weights)[0]
        try:
            shot()
        except ProcessLookupError:
            return None  # it fell by itself a moment before
        return name

    def _targets(self) -> Iterator[tuple[str, int, Callable[[], None]]]:
        for name, process in self._running.items():
            if process.poll() is not None or not self._grown_up(name):
                continue
            role = name.split()[0]
            yield role, WEIGHTS[role], lambda pid=process.pid: os.killpg(pid, signal.SIGKILL)
            for child in _children(process.pid):
                weight = WEIGHTS.get(f"{role} child", 0)
                yield f"{role} child", weight, lambda pid=child: os.kill(pid, signal.SIGKILL)
        if self.broker and self._grown_up("redis"):
            yield "redis", WEIGHTS["redis"], self.broker.end
        if self.cluster:
            # Any one of them makes the server end all the others and recover.
            for pid in self.cluster.backends()[:2]:
                yield "backend", 1, lambda pid=pid: os.kill(pid, signal.SIGKILL)

    def _grown_up(self, name: str) -> bool:
        return time.monotonic() - self._born.get(name, 0.0) > GROWN_UP_S.get(
            name, OTHERS_GROWN_UP_S
        )


def _children(pid: int) -> list[int]:
    with contextlib.suppress(OSError):
        return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return []


def interpreter() -> str:
    """Return what the processes run on, for a report."""
    return f"Python {'.'.join(map(str, sys.version_info[:3]))}"
