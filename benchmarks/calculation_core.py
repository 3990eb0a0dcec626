"""How fast the calculation core is, as ratios to reading a file in the same run."""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

import numpy as np

from qa.domain.pressure_log import judge_window, parse_pressure_csv
from repairs.domain.chart import Chart, ChartRow, ClockStart
from repairs.domain.cure_clock import CureInputs, cure_clock
from repairs.domain.temperature_log import Reading
from repairs.domain.units import PSI_KPA

START = datetime(2026, 11, 25, 6, tzinfo=UTC)
TEACHES = """\
Times three jobs and prints each as a ratio to reading the same log from disk as text,
so that figures of two machines can be compared:

  read      a pressure log of a million samples, CSV to columns
  judge     that log against a window, with 45,000 excursions in it
  cures     a thousand live cures, each from its own temperature log: early, best, late
            and hold until, as the service reckons them anew each minute of a day

All data is invented and made anew each time, with the same figures. Each job runs
several times; the middle time counts. Nothing is kept.

Examples:
  .venv/bin/python -m benchmarks.calculation_core
  .venv/bin/python -m benchmarks.calculation_core --samples 100000 --repeat 1
"""
CHART = Chart(
    tuple(ChartRow(c, m) for c, m in ((5, 400), (10, 300), (15, 220), (20, 160))),
    ClockStart.INFLATION,
    5,
    "1",
    "invented",
)


class Row(NamedTuple):
    """A job, its seconds, and how many items it went through."""

    job: str
    seconds: float
    items: int
    of: str


def a_log(samples: int) -> str:
    """Return a log of one sample a second that dips out of its window every 22 seconds or so."""
    chance = np.random.default_rng(7)
    shown = 4.95 + 0.1 * np.sin(np.arange(samples) / 300.0) + chance.normal(0.0, 0.02, samples)
    shown[np.arange(0, samples, 22)] = 4.2
    times = (START + timedelta(seconds=n) for n in range(samples))
    lines = (f"{at.isoformat()},{psi:.2f}" for at, psi in zip(times, shown.tolist(), strict=True))
    return "time,pressure_psi\n" + "\n".join(lines) + "\n"


def cures(count: int, readings: int) -> list[CureInputs]:
    """Return cures with logs of their own."""
    chance = np.random.default_rng(11)
    step = timedelta(minutes=240) / readings
    made = []
    for _ in range(count):
        wall_c = 14.0 + np.cumsum(chance.normal(0.0, 0.05, readings))
        log = tuple(Reading(START + n * step, float(c)) for n, c in enumerate(wall_c))
        made.append(CureInputs(CHART, START, log, declared_wall_c=14.0, sensor_tolerance_k=0.5))
    return made


def seconds(job: Callable[[], Any], repeat: int) -> float:
    """Return the middle of several times."""
    taken = []
    for _ in range(repeat):
        begun = time.perf_counter()
        job()
        taken.append(time.perf_counter() - begun)
    return median(taken)


def log_rows(samples: int, repeat: int) -> Iterator[Row]:
    """Read a log as text, then as columns, then judge it."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "log.csv"
        file.write_text(a_log(samples), encoding="utf-8")
        yield Row(
            "the file as text", seconds(lambda: file.read_text("utf-8"), repeat), samples, "samples"
        )
        text = file.read_text("utf-8")
    yield Row("read", seconds(lambda: parse_pressure_csv(text), repeat), samples, "samples")
    log = parse_pressure_csv(text)
    found = _judged(log)
    job = f"judge, {len(found.excursions):,} excursions"
    yield Row(job, seconds(lambda: _judged(log), repeat), samples, "samples")


def _judged(log: Any) -> Any:
    return judge_window(
        log.times_s,
        log.pressures_kpa,
        start_s=float(log.times_s[0]),
        end_s=float(log.times_s[-1]),
        low_kpa=4.5 * PSI_KPA,
        high_kpa=5.5 * PSI_KPA,
        gauge_accuracy_kpa=0.1 * PSI_KPA,
        longest_gap_s=60.0,
        required_coverage=0.95,
    )


def cure_rows(count: int, repeat: int) -> Iterator[Row]:
    """Reckon all cures once, with logs of three lengths."""
    now = START + timedelta(minutes=240)
    for readings in (30, 240, 1440):
        made = cures(count, readings)
        taken = seconds(lambda made=made: [cure_clock(each, now) for each in made], repeat)  # type: ignore[misc]
        yield Row(f"cures, {readings} readings each", taken, count, "cures")


def main() -> None:
    """Run and print the table."""
    parser = argparse.ArgumentParser(
        prog="benchmarks.calculation_core",
        description=TEACHES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--samples", type=int, default=1_000_000, help="samples of the log")
    parser.add_argument("--cures", type=int, default=1_000, help="cures under way at once")
    parser.add_argument("--repeat", type=int, default=3, help="how often each job runs")
    asked = parser.parse_args()
    if min(asked.samples - 1, asked.cures, asked.repeat) < 1:
        parser.error("--samples needs 2 or more, --cures and --repeat 1 or more.")
    rows = [*log_rows(asked.samples, asked.repeat), *cure_rows(asked.cures, asked.repeat)]
    unit_s = rows[0].seconds
    python = ".".join(map(str, sys.version_info[:3]))
    lines = [
        f"{datetime.now(UTC):%Y-%m-%d}, Python {python}, NumPy {np.__version__}",
        f"{'job':<32}{'seconds':>9}{'x file':>9}  a second",
        *(
            f"{row.job:<32}{row.seconds:>9.3f}{row.seconds / unit_s:>9.1f}  "
            f"{row.items / row.seconds:,.0f} {row.of}"
            for row in rows
        ),
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
