"""How many rows of due work two runners do a second, as a ratio to a bare Celery task."""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import redis

from tests.faults.broker import Broker
from tests.faults.cluster import Cluster
from tests.faults.place import Place

QUEUE = "celery"
LOOK_EVERY_S = 0.02
TEACHES = """\
Writes rows that are all due at the same instant and lets two runners do them; then lets a
Celery worker of two processes do as many messages of a task that does nothing, from a Redis
of its own. Both are timed from their first to their last, without their start.

  nothing   a handler that does nothing: claim, fence, effect and "done", each committed
  instant   a handler that writes one row of its own
  celery    a task that does nothing, acknowledged early: no promise of any kind

Each row must be done exactly once, or it says so and ends with 1.

Examples:
  .venv/bin/python -m benchmarks.due_work --database postgresql
  .venv/bin/python -m benchmarks.due_work --rows 1000
"""


class Row(NamedTuple):
    """A way of doing it, how long it took, and how many were done too often or not at all."""

    way: str
    seconds: float
    rows: int
    wrong: int

    @property
    def a_second(self) -> float:
        """Return the rate."""
        return self.rows / self.seconds


def due_work(place: Place, kind: str, count: int) -> Row:
    """Let two runners do rows of a kind that are all due at the same instant."""
    place.fill(f"{kind}=1")
    place.fill(f"{kind}={count}", KILLABLE_DUE_IN_S="86400")
    runners = [place.runner(), place.runner()]
    beats = "SELECT count(*) FROM duework_runnerheartbeat"
    place.until(lambda: place.rows(beats) >= [(2 * len(runners),)], within_s=30)
    at = datetime.now(UTC) + timedelta(seconds=3)
    told = f"{at:%Y-%m-%d %H:%M:%S}" + ("" if place.url.startswith("sqlite") else "+00")
    place.rows(f"UPDATE duework_workitem SET due_at='{told}' WHERE state='due'")  # noqa: S608
    effects = "SELECT count(*) FROM duework_effect"
    done = lambda: int(str(place.rows(effects)[0][0]))  # noqa: E731 - a name for a measure
    seconds = _from_first_to_last(lambda: count - done(), count - 1)
    ((twice,),) = place.rows(
        "SELECT count(*) FROM (SELECT dedupe_key FROM killable_mark "
        "GROUP BY dedupe_key HAVING count(*) > 1) AS twice"
    )
    unfinished = place.unfinished()
    place.end()
    return Row(kind, seconds, count, int(str(twice)) + unfinished)


def celery(place: Place, broker: Broker, count: int) -> Row:
    """Let a worker of two do as many messages."""
    line = redis.Redis(port=broker.port)
    place.run("tests.faults.killable.noop", str(count), CUREWRIGHT_BROKER_URL=broker.url)
    if line.llen(QUEUE) != count:
        raise RuntimeError(f"{line.llen(QUEUE)} of {count} messages are in the line")
    worker = ("celery", "-A", "tests.faults.killable.noop", "worker", "-c", "2", "-l", "error")
    quiet = ("--without-mingle", "--without-gossip", "--without-heartbeat")
    place.start(*worker, *quiet, CUREWRIGHT_BROKER_URL=broker.url, CUREWRIGHT_TICK_S="60")
    seconds = _from_first_to_last(lambda: int(line.llen(QUEUE)), count)
    place.end()
    return Row("celery", seconds, count, 0)


def _from_first_to_last(left: Callable[[], int], all_of_them: int) -> float:
    while left() >= all_of_them:
        time.sleep(LOOK_EVERY_S)
    begun = time.perf_counter()
    while left() > 0:
        time.sleep(LOOK_EVERY_S)
    return time.perf_counter() - begun


def main() -> int:
    """Run and print the table."""
    parser = argparse.ArgumentParser(
        prog="benchmarks.due_work",
        description=TEACHES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--rows", type=int, default=10_000, help="how many are due at once")
    parser.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    asked = parser.parse_args()
    if asked.rows < 100:  # noqa: PLR2004 - fewer are done between two looks
        parser.error("--rows needs 100 or more.")
    rows = []
    for way in ("celery", "nothing", "instant"):
        with tempfile.TemporaryDirectory(prefix="due-work-") as folder, ExitStack() as stack:
            wants_server = asked.database == "postgresql" and way != "celery"
            cluster = stack.enter_context(Cluster()) if wants_server else None
            url = cluster.url if cluster else f"sqlite:///{folder}/due.sqlite3"
            place = Place(url, Path(folder))
            stack.callback(place.end)
            if way == "celery":
                broker = Broker(Path(folder))
                stack.callback(broker.end)
                place.fill("nothing=0")
                rows.append(celery(place, broker, asked.rows))
            else:
                rows.append(due_work(place, way, asked.rows))
    python = ".".join(map(str, sys.version_info[:3]))
    say = sys.stdout.write
    say(f"{datetime.now(UTC):%Y-%m-%d}, Python {python}, {asked.database}, {asked.rows:,} rows\n")
    say(f"{'way':<10}{'seconds':>9}{'a second':>10}{'x celery':>10}  done wrong\n")
    for row in rows:
        ratio = row.a_second / rows[0].a_second
        say(f"{row.way:<10}{row.seconds:>9.1f}{row.a_second:>10,.0f}{ratio:>10.2f}  {row.wrong}\n")
    return 1 if any(row.wrong for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
