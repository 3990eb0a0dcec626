"""A real Celery worker and a real Redis that dies: the bell speeds work up, no more."""

import os
import signal
import subprocess
import time
from typing import Any

import pytest

from tests.faults.broker import Broker

pytestmark = pytest.mark.slow

BEATS = "SELECT count(*) FROM duework_runnerheartbeat"
MARKS = "SELECT count(*), count(DISTINCT dedupe_key) FROM killable_mark"


def worker(place: Any, broker: Broker, pool: str, tick_s: int) -> subprocess.Popen[bytes]:
    """Start a worker of two and wait until its tickers show that they live."""
    place.fill("quick=0")
    command = ("celery", "-A", "config", "worker", "-c", "2", "-P", pool, "--without-mingle")
    process = place.start(*command, CUREWRIGHT_BROKER_URL=broker.url, CUREWRIGHT_TICK_S=str(tick_s))
    place.until(lambda: place.rows(BEATS) >= [(2,)], within_s=15)
    return process


@pytest.mark.parametrize("pool", ["prefork", "threads"])
def test_the_bell_starts_work_at_once(place: Any, broker: Broker, pool: str) -> None:
    """With a tick of a minute, work written now is done in seconds: the message brought it."""
    worker(place, broker, pool, tick_s=60)
    time.sleep(1)

    assert place.fill("quick=20", "slow=3", CUREWRIGHT_BROKER_URL=broker.url) == 0

    place.until(lambda: place.unfinished() == 0, within_s=8)
    assert place.rows(MARKS) == [(23, 23)]


@pytest.mark.parametrize("what", [signal.SIGKILL, signal.SIGSTOP], ids=["dead", "mute"])
def test_work_is_done_although_the_broker_is_gone(place: Any, broker: Broker, what: int) -> None:
    """Killed without memory or never answering: the writer succeeds, the ticker does the work."""
    worker(place, broker, "prefork", tick_s=1)
    broker.say(what)
    began = time.monotonic()

    assert place.fill("quick=20", CUREWRIGHT_BROKER_URL=broker.url) == 0

    assert time.monotonic() - began < 6, "start-up of a process, and at most one time-out of 1 s"
    place.until(lambda: place.unfinished() == 0, within_s=10)
    assert place.rows(MARKS) == [(20, 20)]


@pytest.mark.parametrize("pool", ["prefork", "threads"])
def test_a_broker_that_comes_back_is_heard_again(place: Any, broker: Broker, pool: str) -> None:
    """After a restart that forgot everything, the worker listens once more."""
    worker(place, broker, pool, tick_s=60)
    broker.end()
    time.sleep(1)
    broker.start()

    def done_by_the_bell() -> bool:
        place.fill("quick=20", CUREWRIGHT_BROKER_URL=broker.url)
        return bool(place.unfinished() == 0 and place.rows(MARKS) == [(20, 20)])

    place.until(done_by_the_bell, within_s=25)


def test_sigterm_ends_the_worker_and_leaves_no_lease(place: Any, broker: Broker) -> None:
    """A deployment stops workers politely: nothing has to wait for a lease to lapse."""
    process = worker(place, broker, "prefork", tick_s=1)
    place.fill("quick=200")
    place.until(lambda: place.rows(MARKS) != [(0, 0)], within_s=10)

    os.kill(process.pid, signal.SIGTERM)

    process.wait(timeout=15)
    assert place.rows("SELECT count(*) FROM duework_workitem WHERE state='leased'") == [(0,)]
