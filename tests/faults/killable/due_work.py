"""Handlers small enough to be killed in every place."""

import os
import time
from pathlib import Path

from duework.domain.work import Context, Done, Item, Lease, Outcome
from duework.registry import handler
from tests.faults.killable.models import Mark


def _mark(item: Item) -> None:
    Mark.objects.create(dedupe_key=item.dedupe_key, process=os.getpid())


@handler("quick")
def quick(item: Item, _context: Context) -> Outcome:
    """Leave a mark within 20 ms."""
    _mark(item)
    time.sleep(0.02)
    return Done()


def think(_item: Item, lease: Lease) -> int:
    """Take 60 ms in three steps."""
    for step in range(3):
        lease.report(step * 33)
        time.sleep(0.02)
    return os.getpid()


@handler("slow", prepare=think)
def slow(item: Item, _context: Context) -> Outcome:
    """Leave a mark after the slow part."""
    _mark(item)
    return Done()


@handler("fails-once")
def fails_once(item: Item, _context: Context) -> Outcome:
    """Leave a mark, and fail at the first attempt: its mark must vanish."""
    _mark(item)
    if item.attempts == 1:
        raise RuntimeError("invented failure")
    return Done()


def doze(item: Item, _lease: Lease) -> str:
    """Wait for ``go`` if this is the first process here; a later one hurries."""
    folder = Path(str(item.payload["folder"]))
    try:
        (folder / "zombie").open("x").close()
    except FileExistsError:
        return "second"
    (folder / "asleep").write_text(str(os.getpid()))
    while not (folder / "go").exists():
        time.sleep(0.02)
    return "first"


@handler("zombie", prepare=doze)
def zombie(item: Item, context: Context) -> Outcome:
    """Leave a mark under the name of whoever came here."""
    Mark.objects.create(dedupe_key=f"{item.dedupe_key}:{context.prepared}", process=os.getpid())
    return Done()
