"""The whole suite: on SQLite always, on PostgreSQL and Redis where they answer.

``python -m tests.run_all`` is what ``make test`` and ``.ci/run`` call. With
CUREWRIGHT_TEST_SERVICES=required it fails when PostgreSQL or Redis do not
answer, instead of saying that this half was not run.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from typing import IO

import psycopg
import redis

POSTGRES = os.environ.get("CUREWRIGHT_TEST_DATABASE_URL", "postgres://127.0.0.1:5432/postgres")
REDIS = os.environ.get("CUREWRIGHT_TEST_BROKER_URL", "redis://127.0.0.1:6379/9")
REQUIRED = os.environ.get("CUREWRIGHT_TEST_SERVICES") == "required"
DATABASE = "curewright_suite"


def main() -> int:
    """Run both halves and return the exit code for the shell."""
    missing = [words for words in (_postgres_missing(), _redis_missing()) if words]
    if missing and REQUIRED:
        print(f"CUREWRIGHT_TEST_SERVICES=required, but {'; '.join(missing)}.", file=sys.stderr)
        return 1
    with tempfile.TemporaryFile("w+", encoding="utf-8") as report:
        other = None if missing else _start_other_half(report)
        print("== SQLite, no broker ==", flush=True)
        code = subprocess.run(_pytest(sys.argv[1:]), check=False).returncode
        if other is None:
            print(f"== PostgreSQL and Redis: NOT RUN, {'; '.join(missing)} ==")
            return code
        print(
            "== PostgreSQL and Redis, the tests that touch a database (ran beside) ==", flush=True
        )
        other_code = other.wait()
        report.seek(0)
        shutil.copyfileobj(report, sys.stdout)
    return code or other_code


def _start_other_half(report: IO[str]) -> "subprocess.Popen[str]":
    """Begin the tests that touch a database, on PostgreSQL and Redis, beside the first half."""
    with psycopg.connect(POSTGRES, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {DATABASE}")  # type: ignore[arg-type]
        connection.execute(f"CREATE DATABASE {DATABASE}")  # type: ignore[arg-type]
    services = {
        "CUREWRIGHT_DATABASE_URL": f"{POSTGRES.rsplit('/', 1)[0]}/{DATABASE}",
        "CUREWRIGHT_BROKER_URL": REDIS,
    }
    return subprocess.Popen(
        _pytest(["--database-only", *sys.argv[1:]]),
        env={**os.environ, **services},
        stdout=report,
        stderr=subprocess.STDOUT,
        text=True,
    )


def _pytest(arguments: list[str]) -> list[str]:
    return [sys.executable, "-m", "pytest", "-q", *arguments]


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
