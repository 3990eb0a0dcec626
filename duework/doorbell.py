"""Tells a worker, after the commit, that there is work: a courtesy, never a promise.

The row in the table is the promise; a runner finds it at its next tick anyway.
So whatever goes wrong here costs latency only, and is logged.
"""

import logging
import time

from django.conf import settings
from django.db import connection, transaction
from django.utils.module_loading import import_string

from duework import failpoints

log = logging.getLogger(__name__)

QUIET_S = 5.0
"""After a failed ring nobody is rung for this long: a dead broker is met once, not per request."""


class Doorbell:
    """The bell which the settings name, silent for a while after it failed."""

    def __init__(self) -> None:
        """Begin with a bell that is thought to work."""
        self._quiet_until = 0.0

    def ring(self) -> bool:
        """Ring; False when there is no bell, when it failed, or failed a moment ago."""
        if settings.DUEWORK_DOORBELL is None or time.monotonic() < self._quiet_until:
            return False
        try:
            import_string(settings.DUEWORK_DOORBELL)()
        except Exception as error:  # noqa: BLE001 - a broker's client may raise anything
            self._quiet_until = time.monotonic() + QUIET_S
            log.warning("The doorbell did not ring, the ticker will find the work: %s", error)
            return False
        return True


_bell = Doorbell()


def ring_after_commit() -> None:
    """Ring once when the present transaction commits, however many items it writes."""
    if not any(call[1] is _committed for call in connection.run_on_commit):
        transaction.on_commit(_committed)


def _committed() -> None:
    failpoints.reach("scheduled")
    _bell.ring()
