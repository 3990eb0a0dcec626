"""Who turns the crank: threads that drain what is due, every few seconds, in every runner.

A broker's bell makes work start at once; the ticker makes it start at all. It
sleeps for a tick, or only until the next row it knows of is due, so a timer
needs no bell to be on time. Each runner has three: a quick one, a slow one for
kinds with a `prepare`, and one for those that wait for somebody outside. So neither a
package being built nor a server that does not answer makes anything else late.
"""

import logging
import random
import threading
import time
from datetime import datetime, timedelta

from django.conf import settings
from django.db import close_old_connections, connections

from duework.claim import this_process
from duework.clock import db_now
from duework.models import RunnerHeartbeat
from duework.registry import Lane
from duework.retention import purge
from duework.runner import run_due
from duework.selectors import next_due_at

log = logging.getLogger(__name__)

DRAIN = 100
"""Items between two heartbeats of a runner that is catching up."""

FORGET_AFTER = timedelta(days=1)
"""Heartbeat rows of runners gone for a day are removed."""

PURGE_EVERY_S = 3_600.0
"""How often the slow lane of each runner takes away rows past their time."""

SHORTEST_PAUSE_S = 0.2
"""A row that is due and still there is in somebody else's hand at this moment."""

JITTER_SHARE = 0.2
"""The tick varies by a fifth either way, so that runners started together drift apart."""


class Ticker(threading.Thread):
    """Drains one lane every ``DUEWORK_TICK_S``; ends soon after `stop`."""

    def __init__(self, lane: Lane = Lane.ALL) -> None:
        """Make a ticker for `lane`; `start` it, or call `tick` by hand."""
        super().__init__(name=f"duework-{lane.value}", daemon=True)
        self._lane = lane
        self._runner = this_process(lane.value)
        self._purge_at = time.monotonic() + PURGE_EVERY_S * random.random()  # noqa: S311 - jitter
        self._started_at: datetime | None = None
        self._handled = 0
        self._over = threading.Event()
        self._wake = threading.Event()

    def run(self) -> None:
        """Tick until stopped; no error ends it, for there is nobody to start it again."""
        while not self._over.is_set():
            # As at the borders of a web request: drop what is broken or too old.
            close_old_connections()
            pause_s = self._pause_s()
            try:
                self.tick()
                pause_s = self._until_next_due_s(pause_s)
            # Whatever it was (the database restarting, mostly), the next tick tries again.
            except Exception:
                log.exception("A tick failed; the next one tries again.")
            close_old_connections()
            self._wake.wait(pause_s)
            self._wake.clear()
        connections.close_all()

    def tick(self) -> None:
        """Show that this runner lives, then drain until nothing is due."""
        self._beat()
        while self._drain() == DRAIN and not self._over.is_set():
            self._beat()
        if self._lane in (Lane.SLOW, Lane.ALL) and time.monotonic() >= self._purge_at:
            self._purge_at = time.monotonic() + PURGE_EVERY_S
            purge(now=db_now())

    def stop(self, wait_s: float = 10.0) -> None:
        """Ask for the end and wait for the item in hand; a longer one is taken up by others."""
        self._over.set()
        self._wake.set()
        if self.is_alive():
            self.join(wait_s)

    def look_again(self) -> None:
        """End the present sleep, if it sleeps: a row may be due before it would wake."""
        self._wake.set()

    def _drain(self) -> int:
        taken = run_due(limit=DRAIN, lane=self._lane, stop=self._over.is_set, holder=self._runner)
        self._handled += taken
        return taken

    def _beat(self) -> None:
        now = db_now()
        self._started_at = self._started_at or now
        RunnerHeartbeat.objects.update_or_create(
            runner=self._runner,
            defaults={"started_at": self._started_at, "beat_at": now, "handled": self._handled},
        )
        RunnerHeartbeat.objects.filter(beat_at__lt=now - FORGET_AFTER).delete()

    def _until_next_due_s(self, longest_s: float) -> float:
        due_at = next_due_at(lane=self._lane)
        if due_at is None:
            return longest_s
        wait_s = (due_at - db_now()).total_seconds()
        return min(longest_s, max(wait_s, SHORTEST_PAUSE_S))

    def _pause_s(self) -> float:
        share = random.uniform(-JITTER_SHARE, JITTER_SHARE)  # noqa: S311 - jitter
        return float(settings.DUEWORK_TICK_S) * (1 + share)


class Crank:
    """The tickers of one process, one a lane, started and stopped together."""

    def __init__(self) -> None:
        """Make them; nothing runs yet."""
        self._tickers = [Ticker(Lane.QUICK), Ticker(Lane.SLOW), Ticker(Lane.OUTSIDE)]

    def start(self) -> None:
        """Start them."""
        for ticker in self._tickers:
            ticker.start()

    def look_again(self) -> None:
        """Have them look before their tick is over."""
        for ticker in self._tickers:
            ticker.look_again()

    def join(self) -> None:
        """Wait until all have ended."""
        for ticker in self._tickers:
            ticker.join()

    def stop(self) -> None:
        """Stop them after the item in hand."""
        for ticker in self._tickers:
            ticker.stop(wait_s=0)
        for ticker in self._tickers:
            ticker.stop()
