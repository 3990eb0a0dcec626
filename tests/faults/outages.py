"""``python -m tests.faults.outages``: the broker fails in every way; work is late, never lost."""

import argparse
import math
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from tests.faults.broker import Broker
from tests.faults.cluster import Cluster
from tests.faults.company import Company, interpreter
from tests.faults.ledger import Account, Leases, Writers, settle
from tests.faults.place import Place

WITH_BROKER_S, WITHOUT_S = 5.0, 10.0
"""What is promised of the 99th percentile of lateness."""
DEFAULTS = {"CUREWRIGHT_LEASE_S": "60", "CUREWRIGHT_TICK_S": "5"}

TEACHES = """\
Web, worker and tickers with the default tick of 5 s, while people write: work that is due at
once, and work that is due a moment later. In each round the broker has another trouble:

  fine        none; the figure to compare with
  flushed     FLUSHALL every second
  stopped     killed without memory, away for --seconds, then back and empty
  frozen      SIGSTOP for --seconds: connections stay open and nobody answers
  two beats   two schedulers ring every second beside all other bells
  no broker   only tickers; there is never a beat, for none is needed

Each round ends with the account: nothing lost, nothing doubled, nothing early, and the 99th
percentile of lateness at most 5 s with a broker that works and 10 s without.

Examples:
  .venv/bin/python -m tests.faults.outages --database postgresql
  .venv/bin/python -m tests.faults.outages --rounds flushed frozen --seconds 10
"""


@dataclass(frozen=True)
class Round:
    """One trouble: what happens, how late work may be, and who takes part."""

    trouble: Callable[[Broker, float], None]
    promise_s: float
    beats: int = 0
    broker: bool = True


def _nothing(_broker: Broker, seconds: float) -> None:
    time.sleep(seconds)


def _flush(broker: Broker, seconds: float) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        broker.forget()
        time.sleep(1)


def _stop(broker: Broker, seconds: float) -> None:
    broker.end()
    time.sleep(seconds)
    broker.start()


def _freeze(broker: Broker, seconds: float) -> None:
    broker.say(signal.SIGSTOP)
    time.sleep(seconds)
    broker.say(signal.SIGCONT)


ROUNDS = {
    "fine": Round(_nothing, WITH_BROKER_S),
    "flushed": Round(_flush, WITH_BROKER_S),
    "stopped": Round(_stop, WITHOUT_S),
    "frozen": Round(_freeze, WITHOUT_S),
    "two beats": Round(_nothing, WITH_BROKER_S, beats=2),
    "no broker": Round(_nothing, WITHOUT_S, broker=False),
}


@dataclass(frozen=True)
class Outcome:
    """What came of one round."""

    account: Account
    late_s: list[float]
    promise_s: float

    def percentile_s(self, share: float) -> float:
        """Return the lateness that this share of the work did not exceed."""
        return self.late_s[max(0, math.ceil(share * len(self.late_s)) - 1)]

    @property
    def broken(self) -> list[str]:
        """Return each promise that was not kept."""
        late = self.percentile_s(0.99) > self.promise_s
        more = [f"p99 {self.percentile_s(0.99):.1f} s > {self.promise_s:g} s"] if late else []
        return [*self.account.broken, *more]


def play(folder: Path, name: str, *, seconds: float, postgres: bool) -> Outcome:
    """Play one round and return what came of it."""
    wanted = ROUNDS[name]
    (folder / "outside").touch()
    with ExitStack() as stack:
        cluster = stack.enter_context(Cluster()) if postgres else None
        place = Place(cluster.url if cluster else f"sqlite:///{folder / 'due.sqlite3'}", folder)
        stack.callback(place.end)
        broker = Broker(folder)
        stack.callback(broker.end)
        company = Company(place, broker if wanted.broker else None, beats=wanted.beats, **DEFAULTS)
        company.wait_until_all_work()
        writers, leases = Writers(company.port, pause_s=0.3), Leases(place)
        time.sleep(2)
        wanted.trouble(broker, seconds)
        time.sleep(2)
        writers.stop()
        place.until(lambda: place.unfinished() == 0, within_s=60)
        # Nobody dies here, so no lease may last; it is watched all the same.
        account = settle(
            place, writers, leases, Counter(), unhealthy=company.unhealthy, taken_up_within_s=65
        )
        rows = place.rows("SELECT late_s FROM killable_mark ORDER BY late_s")
    return Outcome(account, [float(str(late_s)) for (late_s,) in rows], wanted.promise_s)


def main() -> int:
    """Play the rounds that the command line names and print a table."""
    parser = argparse.ArgumentParser(
        prog="tests.faults.outages",
        description=TEACHES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--rounds", nargs="+", choices=list(ROUNDS), default=list(ROUNDS))
    parser.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    parser.add_argument("--seconds", type=float, default=60, help="how long each trouble lasts")
    asked = parser.parse_args()
    say = sys.stdout.write
    say(f"{asked.database}, {interpreter()}, {asked.seconds:g} s of each trouble\n")
    say(f"{'round':<11}{'writes':>7}{'items':>7}{'p50 s':>8}{'p99 s':>8}{'max s':>8}  broken\n")
    broken = 0
    for name in asked.rounds:
        with tempfile.TemporaryDirectory(prefix="outages-") as folder:
            found = play(
                Path(folder),
                name,
                seconds=asked.seconds,
                postgres=asked.database == "postgresql",
            )
        late = "".join(f"{found.percentile_s(share):>8.2f}" for share in (0.5, 0.99, 1.0))
        told = "; ".join(found.broken) or "none"
        say(f"{name:<11}{found.account.accepted:>7}{found.account.items:>7}{late}  {told}\n")
        sys.stdout.flush()
        broken += bool(found.broken)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
