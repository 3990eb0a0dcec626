"""The whole suite: on SQLite always, on PostgreSQL and Redis where they answer.

``python -m tests.run_all`` is what ``make test`` and ``.ci/run`` call. Two parts run side by
side; the faults come last and alone, since whoever measures how late something was wants the
machine for itself. With CUREWRIGHT_TEST_SERVICES=required it fails when PostgreSQL or Redis do
not answer, instead of saying that this part was not run.
"""

import os
import subprocess
import sys
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, field

import psycopg
import redis

POSTGRES = os.environ.get("CUREWRIGHT_TEST_DATABASE_URL", "postgres://127.0.0.1:5432/postgres")
REDIS = os.environ.get("CUREWRIGHT_TEST_BROKER_URL", "redis://127.0.0.1:6379/9")
REQUIRED = os.environ.get("CUREWRIGHT_TEST_SERVICES") == "required"
DATABASE = "curewright_suite"
TRADE = ("tests/repairs", "tests/reference", "tests/duework")
PROOF = ("tests/qa",)
"""With the trade the larger part of the tests that touch no database."""
SIDE_BY_SIDE = 2


@dataclass(frozen=True)
class Part:
    """Some of the suite: its name, what pytest is told, and what the environment says."""

    name: str
    options: tuple[str, ...]
    environment: Mapping[str, str] = field(default_factory=dict)


BESIDE = (
    Part("SQLite, what touches a database", ("--database-only",)),
    Part("no database: the trade", ("--pure-only", *TRADE)),
    Part("no database: the proof", ("--pure-only", *PROOF)),
    Part(
        "no database: the rest",
        ("--pure-only", "tests", *(f"--ignore={folder}" for folder in (*TRADE, *PROOF))),
    ),
)
FAULTS = Part("real processes killed", ("--faults-only",))
NOTHING_FOUND = 5
"""What pytest ends with where a word on the command line leaves nothing of a part."""


def main() -> int:
    """Run all parts and return the exit code for the shell."""
    missing = [words for words in (_postgres_missing(), _redis_missing()) if words]
    if missing and REQUIRED:
        print(f"CUREWRIGHT_TEST_SERVICES=required, but {'; '.join(missing)}.", file=sys.stderr)
        return 1
    parts = BESIDE if missing else (_on_postgres(), *BESIDE)
    with ThreadPoolExecutor(SIDE_BY_SIDE) as pool:
        under_way = [pool.submit(_run, part) for part in parts]
        codes = [done.result() for done in as_completed(under_way)]
    codes.append(_run(FAULTS))
    if missing:
        print(f"== PostgreSQL and Redis: NOT RUN, {'; '.join(missing)} ==")
    return max(codes)


def _run(part: Part) -> int:
    """Run one part and tell its whole report at its end, so that no two are mixed."""
    began = time.monotonic()
    print(f"== {part.name}: begun ==", flush=True)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *part.options, *sys.argv[1:]],
        env={**os.environ, **part.environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    took_s = time.monotonic() - began
    print(f"== {part.name}: ended after {took_s:.0f} s ==\n{done.stdout}", flush=True)
    return 0 if done.returncode == NOTHING_FOUND else done.returncode


def _on_postgres() -> Part:
    """Return the tests that touch a database, for a new one on PostgreSQL, with Redis."""
    with psycopg.connect(POSTGRES, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {DATABASE}")  # type: ignore[arg-type]
        connection.execute(f"CREATE DATABASE {DATABASE}")  # type: ignore[arg-type]
    services = {
        "CUREWRIGHT_DATABASE_URL": f"{POSTGRES.rsplit('/', 1)[0]}/{DATABASE}",
        "CUREWRIGHT_BROKER_URL": REDIS,
    }
    return Part("PostgreSQL and Redis, what touches a database", ("--database-only",), services)


def _postgres_missing() -> str:
    try:
        with psycopg.connect(POSTGRES, connect_timeout=3):
            return ""
    except psycopg.OperationalError as error:
        return f"PostgreSQL does not answer ({str(error).splitlines()[0]})"


def _redis_missing() -> str:
    try:
        redis.Redis.from_url(REDIS, socket_connect_timeout=3).ping()
    except redis.RedisError as error:
        return f"Redis does not answer ({error})"
    return ""


if __name__ == "__main__":
    sys.exit(main())
