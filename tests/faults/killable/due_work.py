"""Handlers small enough to be killed in every place."""

import os
import time
from pathlib import Path

from duework.domain.work import Context, Done, Item, Lease, Outcome
from duework.registry import handler
from tests.faults.killable.models import Mark


def _mark(item: Item, context: Context) -> None:
    late_s = (context.now - (item.wanted_at or item.due_at)).total_seconds()
    Mark.objects.create(dedupe_key=item.dedupe_key, process=os.getpid(), late_s=late_s)


@handler("quick")
def quick(item: Item, context: Context) -> Outcome:
    """Leave a mark within 20 ms."""
    _mark(item, context)
    time.sleep(0.02)
    return Done()


def think(_item: Item, lease: Lease) -> int:
    """Take 60 ms in three steps."""
    for step in range(3):
        lease.report(step * 33)
        time.sleep(0.02)
    return os.getpid()


@handler("slow", prepare=think)
def slow(item: Item, context: Context) -> Outcome:
    """Leave a mark after the slow part."""
    _mark(item, context)
    return Done()


@handler("nothing")
def nothing(_item: Item, _context: Context) -> Outcome:
    """Do nothing: what is left is the price of the queue itself."""
    return Done()


@handler("instant")
def instant(item: Item, context: Context) -> Outcome:
    """Leave a mark, as quickly as a row can be written."""
    _mark(item, context)
    return Done()


def say_outside(item: Item, _lease: Lease) -> None:
    """Tell the world, which here is a file, under the key that stays the same."""
    line = f"{item.subject_id} {item.dedupe_key} {item.attempts}\n".encode()
    world = os.open(Path(os.environ["KILLABLE_FOLDER"]) / "outside", os.O_APPEND | os.O_WRONLY)
    # One write of one line: whole or not at all, as a receiver sees a request.
    os.write(world, line)
    os.close(world)
    time.sleep(0.02)


@handler("outside", prepare=say_outside)
def outside(item: Item, context: Context) -> Outcome:
    """Leave a mark that the world was told."""
    _mark(item, context)
    return Done()


@handler("fails-once")
def fails_once(item: Item, context: Context) -> Outcome:
    """Leave a mark, and fail at the first attempt: its mark must vanish."""
    _mark(item, context)
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
