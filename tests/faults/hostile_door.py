"""Hostile files by the whole way: ``python -m tests.faults.hostile_door --files 10000 --read 400``.

Each is posted over HTTP to a server of its own, under a hostile name; then a worker reads the
first of them, as many as asked, in a process each, just as the service does.
"""

import argparse
import http.client
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

import django

KINDS = {"photo": "other_photo", "film": "pre_repair_film", "series": "pressure_log"}
SLOWEST_S = 20


def multipart(fields: dict[str, str], name: str, content: bytes) -> tuple[bytes, str]:
    """Write a form by hand: a library would mend the name."""
    mark = uuid4().hex
    part = f'--{mark}\r\nContent-Disposition: form-data; name="'
    texts = "".join(f'{part}{key}"\r\n\r\n{value}\r\n' for key, value in fields.items())
    quoted = name.replace("\n", "%0A").replace('"', "%22")
    head = f'{part}file"; filename="{quoted}"\r\nContent-Type: image/jpeg\r\n\r\n'
    body = texts.encode() + head.encode() + content + f"\r\n--{mark}--\r\n".encode()
    return body, f"multipart/form-data; boundary={mark}"


def post(line: http.client.HTTPConnection, token: str, repair: str, name: str, file: Any) -> int:
    """Hand one file in and return the status."""
    kind, content = file
    body, media = multipart({"repair": repair, "kind": KINDS[kind]}, name, content)
    line.request(
        "POST",
        "/api/v1/evidence",
        body,
        {"Authorization": f"Bearer {token}", "Content-Type": media},
    )
    answer = line.getresponse()
    answer.read()
    return answer.status


def read_some(folder: Path, environment: dict[str, str], count: int) -> str:
    """Let a worker read the first files, and say what stands in the database."""
    with closing(sqlite3.connect(folder / "cut.sqlite3")) as rows, rows:
        later = "UPDATE duework_workitem SET due_at = '2099-01-01' WHERE kind = 'read-evidence'"
        first = "SELECT id FROM duework_workitem WHERE kind = 'read-evidence' LIMIT ?"
        rows.execute(f"{later} AND id NOT IN ({first})", (count,))
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "manage.py", "run_due", "--once"],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    took_s = time.monotonic() - began
    with closing(sqlite3.connect(folder / "cut.sqlite3")) as rows:
        (read, empty, problems) = rows.execute(
            "SELECT count(*), sum(problem = '' AND facts = '{}'), sum(problem != '') "
            "FROM qa_evidence WHERE probed_at IS NOT NULL"
        ).fetchone()
        (failed,) = rows.execute(
            "SELECT count(*) FROM duework_workitem WHERE last_error != '' OR state = 'dead'"
        ).fetchone()
    return (
        f"a worker read {read} ({problems} with a problem, {empty} with neither, {failed} items of "
        f"due work failed) in {took_s:.0f} s; {done.stdout.strip()}"
    )


def run(
    files: int, read: int, seed: int, folder: Path, tell: Any = None
) -> tuple[Counter[int], str]:
    """Post all files, have some read, and return the statuses and what was read."""
    from tests.faults.cut_uploads import Server  # noqa: PLC0415 - Django first
    from tests.faults.hostile_files import NAMES, all_files  # noqa: PLC0415

    server, statuses = Server(folder), Counter[int]()
    told = server.seed()
    with server.processes:
        server.start()
        host = urlsplit(server.base_url).netloc
        wait_for(host)
        line = http.client.HTTPConnection(host, timeout=SLOWEST_S)
        for _, kind, content in all_files(files, seed):
            name = NAMES[statuses.total() % len(NAMES)]
            sent = post(line, told["crew_token"], told["repair"], name, (kind, content))
            statuses[sent] += 1
            if tell:
                tell(statuses)
    return statuses, read_some(folder, server.environment, read)


def wait_for(host: str) -> None:
    """Ask until the server answers."""
    for _ in range(300):
        line = http.client.HTTPConnection(host, timeout=1)
        try:
            line.request("GET", "/healthz")
            line.getresponse().read()
        except OSError:
            time.sleep(0.1)
        else:
            return
        finally:
            line.close()
    raise TimeoutError(host)


def main() -> None:
    """Run it, with its progress on the terminal."""
    parser = argparse.ArgumentParser(
        description="Posts files made to do harm over HTTP and has a worker read some of them.",
        epilog="Example: python -m tests.faults.hostile_door --files 10000 --read 400 --seed 7",
    )
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--read", type=int, default=400, help="how many the worker reads")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()

    def tell(statuses: Counter[int]) -> None:
        done = 100 * statuses.total() // asked.files
        if statuses.total() % 20 and done < 100:
            return
        sys.stderr.write(f"\r[{'#' * (done // 4):<25}] {done:3d} %  {dict(statuses)}")

    with tempfile.TemporaryDirectory() as folder:
        statuses, words = run(asked.files, asked.read, asked.seed, Path(folder), tell)
    sys.stdout.write(f"\n{statuses.total()} posted: {dict(statuses)}; {words}\n")
    sys.exit(any(status >= http.client.INTERNAL_SERVER_ERROR for status in statuses))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    main()
