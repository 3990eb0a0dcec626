"""Keeping a lease while slow work runs: a thread renews it, and learns when it is lost."""

import logging
import threading
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from types import TracebackType
from typing import Self

from django.db import connection

from duework.claim import held
from duework.domain.work import Item, LeaseLostError

log = logging.getLogger(__name__)

LONGEST_RUN_S = 3_600.0
"""Renewal ends here: work that hangs for an hour is given to somebody else."""


class RenewedLease:
    """The lease of one item, renewed every third of its length until left.

    Implements ``duework.domain.work.Lease``. Renewal is timed by the monotonic
    clock, so a clock set back or forward neither drops nor prolongs it.
    """

    def __init__(self, item: Item, *, lease_s: float, clock: Callable[[], datetime]) -> None:
        """Prepare to renew `item`'s lease to `lease_s` after each `clock()`."""
        self._item = item
        self._lease_s = lease_s
        self._clock = clock
        self._lost = False
        self._left = threading.Event()
        self._thread = threading.Thread(target=self._renew, name="duework-lease", daemon=True)

    def __enter__(self) -> Self:
        """Start renewing."""
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop renewing; the work is over or has failed."""
        self._left.set()
        self._thread.join()

    def check(self) -> None:
        """Raise LeaseLostError when another runner took over."""
        if self._lost:
            raise LeaseLostError(f"{self._item.kind} [{self._item.dedupe_key}]")

    def report(self, percent: int) -> None:
        """Store how far the work is (0 to 100); raise LeaseLostError when another took over."""
        if not held(self._item).update(progress_percent=min(max(percent, 0), 100)):
            self._lost = True
        self.check()

    def _renew(self) -> None:
        started = time.monotonic()
        try:
            while not self._left.wait(self._lease_s / 3) and not self._lost:
                if time.monotonic() - started > LONGEST_RUN_S:
                    log.error("Due work hangs, its lease is let go: %s", self._item.dedupe_key)
                    return
                self._renew_once()
        finally:
            connection.close()

    def _renew_once(self) -> None:
        until = self._clock() + timedelta(seconds=self._lease_s)
        try:
            self._lost = not held(self._item).update(lease_until=until)
        # The database may be away for a moment; the fence decides in the end.
        except Exception as error:  # noqa: BLE001 - any failure of the database's client
            log.warning("A lease was not renewed: %s", error)
            connection.close()
