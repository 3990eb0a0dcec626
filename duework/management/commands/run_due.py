"""``manage.py run_due``: does due work in the foreground, without a broker."""

import signal
import time

from django.core.management.base import BaseCommand, CommandParser

from duework.runner import run_due
from duework.ticker import Crank

LOOK_EVERY_S = 0.1


class Command(BaseCommand):
    """Runs the tickers until told to stop, or drains once."""

    help = (
        "Does the work that is due: reminders, recalculations, packages. The rows of the "
        "database are the queue, so any number of these may run beside each other and beside "
        "Celery workers; killing one loses nothing, another takes its work over when the lease "
        "(CUREWRIGHT_LEASE_S, 60 s) has lapsed. Without options it runs until SIGTERM or Ctrl-C, "
        "looking every CUREWRIGHT_TICK_S (5 s), and finishes the item in hand before it ends. "
        "With --once it does what is due now and ends: that suits cron."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare ``--once``."""
        parser.add_argument(
            "--once", action="store_true", help="do what is due now, print how much it was, end"
        )

    def handle(self, *_args: object, **options: object) -> None:
        """Drain once, or turn the crank until a signal comes."""
        if options["once"]:
            self.stdout.write(f"{_drain()} items of due work taken up.")
            return
        asked: list[int] = []
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda found, _frame: asked.append(found))
        crank = Crank()
        crank.start()
        # Not crank.join(): a signal that raises inside Thread.join makes Python 3.11
        # take the running thread for ended, and the item in hand would be cut off.
        while not asked:
            time.sleep(LOOK_EVERY_S)
        self.stderr.write("Finishing the item in hand.")
        crank.stop()


def _drain() -> int:
    total = 0
    while taken := run_due():
        total += taken
    return total
