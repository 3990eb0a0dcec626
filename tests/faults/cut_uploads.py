"""Uploads over a line that is cut, to a server that is killed, until each file is there whole.

``python -m tests.faults.cut_uploads --cuts 1000`` runs the long form and prints its figures;
a short form is part of the suite. All bytes are invented.
"""

import argparse
import hashlib
import http.client
import json
import os
import random
import socket
import subprocess
import sys
import tempfile
import time
from base64 import b64encode
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import django

BLOCK = 64 * 1024
SIZE = 8_000_000
"""Bytes of a file: small enough for many, large enough to be cut several times."""
CUTS_A_FILE = 10
KILL_ONE_IN = 7
MAY_BE_SENT_AGAIN = 0.05
LOST_A_CUT_BYTES = 256 * 1024
"""Besides 5 %, a block a cut: what lay between two sockets."""
PATIENCE_S = 60.0


@dataclass
class Figures:
    """What a run did and found."""

    cuts: int = 0
    kills: int = 0
    files: int = 0
    wrong: int = 0
    sent_bytes: int = 0
    file_bytes: int = 0

    @property
    def sent_again_bytes(self) -> int:
        """Bytes that had to be sent more than once."""
        return self.sent_bytes - self.file_bytes

    @property
    def allowed_again_bytes(self) -> float:
        """The most that may be sent more than once."""
        whole = MAY_BE_SENT_AGAIN * self.file_bytes
        return whole + LOST_A_CUT_BYTES * (self.cuts + self.kills)

    def told(self) -> str:
        """Return the figures as one line."""
        share = 100 * self.sent_again_bytes / max(self.file_bytes, 1)
        per_cut = self.sent_again_bytes / max(self.cuts + self.kills, 1)
        return (
            f"{self.cuts} cuts, {self.kills} server kills, {self.files} files of {SIZE:,} bytes, "
            f"{self.wrong} wrong hashes, sent again {share:.1f} %, {per_cut:,.0f} bytes a cut, "
            f"{100 * self.sent_again_bytes / max(self.allowed_again_bytes, 1):.0f} % of the allowed"
        )


class Line:
    """A client that sends until somebody cuts, asks where the bytes end, and goes on."""

    def __init__(self, base_url: str, token: str) -> None:
        self._host = urlsplit(base_url).netloc
        self.headers = {"Authorization": f"Bearer {token}", "Tus-Resumable": "1.0.0"}

    def ask(self, method: str, path: str, **headers: str) -> tuple[int, dict[str, str], bytes]:
        """Ask until the server answers, however often it falls meanwhile."""
        deadline = time.monotonic() + PATIENCE_S
        while True:
            line = http.client.HTTPConnection(self._host, timeout=20)
            try:
                line.request(method, path, headers={**self.headers, **headers})
                answer = line.getresponse()
                return answer.status, dict(answer.getheaders()), answer.read()
            except (OSError, http.client.HTTPException):
                if time.monotonic() > deadline:
                    raise
                time.sleep(0.05)
            finally:
                line.close()

    def send(self, path: str, offset: int, rest: bytes, cut_after: int | None) -> int:
        """Send a piece; hang up after `cut_after` bytes. Return how many were sent."""
        line = http.client.HTTPConnection(self._host, timeout=20)
        sent = 0
        try:
            line.connect()
            # As a phone's modem does: little waits on the way that a fall would lose.
            line.sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, BLOCK)
            line.putrequest("PATCH", path)
            told = {"Upload-Offset": str(offset), "Content-Length": str(len(rest))}
            kind = {"Content-Type": "application/offset+octet-stream"}
            for name, value in {**self.headers, **told, **kind}.items():
                line.putheader(name, value)
            line.endheaders()
            upto = len(rest) if cut_after is None else min(cut_after, len(rest))
            while sent < upto:
                piece = rest[sent : min(sent + BLOCK, upto)]
                line.send(piece)
                sent += len(piece)
            if cut_after is None:
                line.getresponse().read()
        except (OSError, http.client.HTTPException):
            pass  # the server fell: the bytes that left count as sent
        finally:
            line.close()
        return sent


def one_file(line: Line, server: Any, repair: str, chance: random.Random, found: Figures) -> None:
    """Bring one file over, cutting and killing, and compare its hash."""
    content = chance.randbytes(SIZE)
    sha256 = hashlib.sha256(content).hexdigest()
    said = {"repair": repair, "kind": "post_repair_film", "filename": "f.mp4", "sha256": sha256}
    words = ",".join(f"{key} {b64encode(value.encode()).decode()}" for key, value in said.items())
    status, headers, body = line.ask(
        "POST", "/api/v1/uploads", **{"Upload-Length": str(SIZE), "Upload-Metadata": words}
    )
    assert status == 201, body
    path = urlsplit(headers.get("location") or headers["Location"]).path
    offset = cuts = 0
    while offset < SIZE:
        left = SIZE - offset
        cut_after = chance.randint(1, max(left // 3, 2)) if cuts < CUTS_A_FILE else None
        found.sent_bytes += line.send(path, offset, content[offset:], cut_after)
        if cut_after is not None:
            cuts += 1
            if chance.randrange(KILL_ONE_IN) == 0:
                server.kill_and_restart()
                found.kills += 1
            else:
                found.cuts += 1
        offset = settled_offset(line, path, offset)
    found.files, found.file_bytes = found.files + 1, found.file_bytes + SIZE
    _, _, told = line.ask("GET", path)
    became = json.loads(told)
    _, _, stored = line.ask("GET", f"/api/v1/evidence/{became['evidence']}/file")
    found.wrong += hashlib.sha256(stored).hexdigest() != sha256


def settled_offset(line: Line, path: str, before: int) -> int:
    """Ask where the bytes end until the answer stands still: what has arrived is written first."""
    last, deadline = before - 1, time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        _, headers, _ = line.ask("HEAD", path)
        told = {name.lower(): value for name, value in headers.items()}
        now = int(told["upload-offset"])
        if now == last:
            return now
        last = now
        time.sleep(0.02)
    raise TimeoutError(path)


class Server:
    """The web server on a database and a folder of its own."""

    def __init__(self, folder: Path) -> None:
        from config.processes import Processes, free_port  # noqa: PLC0415 - Django first

        self.environment = {
            "CUREWRIGHT_DEBUG": "yes",
            "CUREWRIGHT_VAR": str(folder),
            "CUREWRIGHT_DATABASE_URL": f"sqlite:///{folder / 'cut.sqlite3'}",
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "CUREWRIGHT_LOG_LEVEL": "ERROR",
        }
        self.processes = Processes(self.environment, folder / "logs")
        self.port = free_port()
        self.base_url = f"http://127.0.0.1:{self.port}"

    def seed(self) -> dict[str, Any]:
        """Make the rows and return what a client needs to know."""
        made = subprocess.run(
            [sys.executable, "-m", "tests.live_seed"],
            env={**os.environ, **self.environment},
            capture_output=True,
            check=True,
        )
        return dict(json.loads(made.stdout))

    def start(self) -> None:
        """Start it."""
        from config.processes import web_command  # noqa: PLC0415 - Django first

        self.processes.start("web", web_command("127.0.0.1", self.port, 1))

    def kill_and_restart(self) -> None:
        """End it and its children with SIGKILL, and start it again, as an init system does."""
        self.processes.kill("web")
        self.processes.restart("web")
        deadline = time.monotonic() + PATIENCE_S
        with socket.socket() as door:
            while door.connect_ex(("127.0.0.1", self.port)) and time.monotonic() < deadline:
                # Its port may have gone to somebody's outgoing connection meanwhile.
                if self.processes.ended():
                    self.processes.running.pop("web")
                    self.processes.restart("web")
                time.sleep(0.1)


def run(cuts: int, seed: int, folder: Path, tell: Any = None) -> Figures:
    """Go on until so many cuts and kills were made, and return the figures."""
    chance, found, server = random.Random(seed), Figures(), Server(folder)
    told = server.seed()
    with server.processes:
        server.start()
        line = Line(server.base_url, told["crew_token"])
        while found.cuts + found.kills < cuts:
            one_file(line, server, told["repair"], chance, found)
            if tell:
                tell(found)
    return found


def main() -> None:
    """Run the long form, with its progress on the terminal."""
    parser = argparse.ArgumentParser(
        description="Cuts uploads and kills the server at random until each file is whole.",
        epilog="Example: python -m tests.faults.cut_uploads --cuts 1000 --seed 7",
    )
    parser.add_argument("--cuts", type=int, default=1_000, help="cuts and kills together")
    parser.add_argument("--seed", type=int, default=1, help="the same seed cuts the same places")
    asked = parser.parse_args()

    def tell(found: Figures) -> None:
        done = min(100, 100 * (found.cuts + found.kills) // asked.cuts)
        sys.stderr.write(f"\r[{'#' * (done // 4):<25}] {done:3d} %  {found.told()}")

    with tempfile.TemporaryDirectory() as folder:
        found = run(asked.cuts, asked.seed, Path(folder), tell)
    sys.stdout.write(f"\n{found.told()}\n")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    main()
