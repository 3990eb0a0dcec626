"""Celery's door to due work: one message without content, and tickers in every worker.

The message says "look at the table". The tickers look anyway, so a lost
message, a lost broker or a missing beat loses nothing.
"""

from celery import shared_task
from celery.signals import (
    worker_process_init,
    worker_process_shutdown,
    worker_ready,
    worker_shutdown,
)
from celery.worker.consumer import Consumer

from duework.claim import this_process
from duework.registry import Lane
from duework.runner import run_due
from duework.ticker import Crank

DRAIN = 100
"""Quick items a message does before it passes the bell on, well within the time limit."""

USELESS_AFTER_S = 60
"""An older message is dropped: the tickers have long found the work."""

_cranks: list[Crank] = []


@shared_task(name="duework.drain", acks_late=True, ignore_result=True)  # type: ignore[untyped-decorator]
def drain() -> None:
    """Wake this process's tickers and do what is quick; when there is more, ring for another go.

    The tickers do what is slow, which no time limit of a message should cut off, and
    they see rows that are due before their tick is over.
    """
    for crank in _cranks:
        crank.look_again()
    if run_due(limit=DRAIN, lane=Lane.QUICK, holder=this_process("bell")) == DRAIN:
        ring()


def ring() -> None:
    """Send the message, without retries: a dead broker must cost the caller next to nothing."""
    drain.apply_async(expires=USELESS_AFTER_S, retry=False, ignore_result=True)


def _turn_the_crank(**_: object) -> None:
    """Start this process's tickers."""
    crank = Crank()
    crank.start()
    _cranks.append(crank)


def _turn_the_crank_unless_forking(sender: Consumer, **_: object) -> None:
    """Start them in the worker itself when its pool has no children (threads, solo)."""
    # A thread alive in the parent of a prefork pool could hold a lock while it forks.
    if "prefork" not in sender.controller.pool_cls.__module__:
        _turn_the_crank()


def _rest(**_: object) -> None:
    """Let the tickers finish the item in hand."""
    while _cranks:
        _cranks.pop().stop()


# weak=False: nothing else holds these functions for Celery.
worker_process_init.connect(_turn_the_crank, weak=False)
worker_process_shutdown.connect(_rest, weak=False)
worker_ready.connect(_turn_the_crank_unless_forking, weak=False)
worker_shutdown.connect(_rest, weak=False)
