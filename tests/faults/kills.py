"""``python -m tests.faults.kills``: shoots processes at random under load, settles the account."""

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from tests.faults.broker import Broker
from tests.faults.cluster import Cluster
from tests.faults.company import Company, interpreter
from tests.faults.ledger import Account, Leases, Writers, settle
from tests.faults.place import Place

LEASE_S, TICK_S = 2, 1
TAKEN_UP_WITHIN_S = LEASE_S + 1.2 * TICK_S + Leases.SILENT_AFTER_S + 2 * Leases.LOOK_EVERY_S
"""The promise with this lease and tick (a tick varies by a fifth), and how finely it is watched:
a runner that was shot passes for alive until it has missed a beat."""

TEACHES = f"""\
Starts a web server, a Celery worker, two tickers, a Redis and, with --database postgresql,
a PostgreSQL of its own; lets two people write without pause; and ends one process after the
other with SIGKILL, at random. Whoever fell is started again, as an init system does. In the
end the outside ledger is compared with the database:

  - every write that was answered 2xx is there, and its four items of work are done,
  - each has its effect in the database exactly once,
  - what was told to the outside may be told again, but only under the same id,
  - nothing is done before it is due,
  - an orphan is taken up within lease + tick: here {LEASE_S} s and {TICK_S} s, by default 60 s
    and 5 s. Time in which no runner beats its heart or the database recovers does not count;
    the account says how much that was.

Ends with 1 when a promise is broken. A thousand kills take ten to twenty minutes.

Examples:
  .venv/bin/python -m tests.faults.kills --kills 1000 --database sqlite
  .venv/bin/python -m tests.faults.kills --kills 1000 --database postgresql
"""


def run(
    folder: Path,
    *,
    kills: int,
    postgres: bool,
    seed: int,
    pause_s: float = 0.9,
    step: Callable[[], None] = lambda: None,
) -> Account:
    """Shoot `kills` processes, up to `pause_s` apart, and return the account."""
    chance = random.Random(seed)
    (folder / "outside").touch()
    with ExitStack() as stack:
        cluster = stack.enter_context(Cluster()) if postgres else None
        url = cluster.url if cluster else f"sqlite:///{folder / 'due.sqlite3'}"
        place = Place(url, folder)
        stack.callback(place.end)
        broker = Broker(folder)
        stack.callback(broker.end)
        company = Company(place, broker, cluster)
        writers = Writers(company.port)
        leases = Leases(place)
        shot: Counter[str] = Counter()
        while shot.total() < kills:
            time.sleep(chance.uniform(0.05, pause_s))
            if name := company.shoot(chance):
                shot[name] += 1
                step()
                if name == "backend":
                    leases.database_fell()
            time.sleep(chance.uniform(0.0, 0.2))
            company.raise_the_fallen()
        writers.stop()
        company.raise_the_fallen()
        place.until(lambda: place.unfinished() == 0, within_s=120)
        return settle(
            place,
            writers,
            leases,
            shot,
            unhealthy=company.unhealthy,
            taken_up_within_s=TAKEN_UP_WITHIN_S,
        )


def main() -> int:
    """Run as the command line says, with a bar, and print the account."""
    parser = argparse.ArgumentParser(
        prog="tests.faults.kills",
        description=TEACHES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--kills", type=int, default=50, help="how many processes to end (50)")
    parser.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    parser.add_argument("--seed", type=int, default=time.time_ns() % 10**6, help="of the chance")
    asked = parser.parse_args()
    if asked.kills < 1:
        parser.error("--kills needs 1 or more.")
    bar = Progress(
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn()
    )
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="kills-") as folder, bar:
        task = bar.add_task(asked.database, total=asked.kills)
        account = run(
            Path(folder),
            kills=asked.kills,
            postgres=asked.database == "postgresql",
            seed=asked.seed,
            step=lambda: bar.advance(task),
        )
    seconds = time.monotonic() - begun
    sys.stdout.write(
        f"{asked.database}, {interpreter()}, seed {asked.seed}, {seconds:.0f} s\n{account.text()}\n"
    )
    return 1 if account.broken or account.late_s else 0


if __name__ == "__main__":
    sys.exit(main())
