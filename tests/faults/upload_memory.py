"""How much memory the web server takes for one large upload.

``python -m tests.faults.upload_memory --megabytes 2000`` prints it; the suite sends less,
but more than it allows the server to grow. The bytes are invented.
"""

import argparse
import http.client
import os
import sys
import tempfile
import time
from base64 import b64encode
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import django

from tests.faults.cut_uploads import Line, Server

BLOCK = bytes(1_000_000)


def grown_mb(megabytes: int, folder: Path) -> tuple[float, str]:
    """Send a file in one piece; return how much the server's peak grew, and what became of it."""
    server = Server(folder)
    told = server.seed()
    with server.processes:
        server.start()
        line = Line(server.base_url, told["crew_token"])
        # A small one first: what the server loads once is not the upload's.
        _send(line, server.base_url, told, 1)
        before = _peak_mb(server)
        state = _send(line, server.base_url, told, megabytes)
        return _peak_mb(server) - before, state


def _send(line: Line, base_url: str, told: dict[str, str], megabytes: int) -> str:
    size = megabytes * len(BLOCK)
    said = {"repair": told["repair"], "kind": "post_repair_film", "filename": f"{size}.mp4"}
    words = ",".join(f"{key} {b64encode(value.encode()).decode()}" for key, value in said.items())
    _, headers, _ = line.ask(
        "POST", "/api/v1/uploads", **{"Upload-Length": str(size), "Upload-Metadata": words}
    )
    path = urlsplit({name.lower(): value for name, value in headers.items()}["location"]).path
    to = http.client.HTTPConnection(urlsplit(base_url).netloc, timeout=600)
    to.request(
        "PATCH",
        path,
        body=(BLOCK for _ in range(megabytes)),
        headers={
            **line.headers,
            "Upload-Offset": "0",
            "Content-Length": str(size),
            "Content-Type": "application/offset+octet-stream",
        },
    )
    answer = to.getresponse()
    answer.read()
    return f"{answer.status} {answer.getheader('Upload-Offset')}"


def _peak_mb(server: Server) -> float:
    """Return the largest memory any web process has had, from /proc."""
    top = server.processes.running["web"].pid
    return max(
        int(line.split()[1]) / 1024
        for pid in _family(top)
        for line in Path(f"/proc/{pid}/status").read_text().splitlines()
        if line.startswith("VmHWM")
    )


def _family(pid: int) -> Iterator[int]:
    yield pid
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
        yield from _family(int(child))


def main() -> None:
    """Run it and print the figures."""
    parser = argparse.ArgumentParser(
        description="Sends one large file and tells how much memory the server took for it.",
        epilog="Example: python -m tests.faults.upload_memory --megabytes 2000",
    )
    parser.add_argument("--megabytes", type=int, default=2_000)
    asked = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        grown, state = grown_mb(asked.megabytes, Path(folder))
    took = time.monotonic() - began
    sys.stdout.write(f"{asked.megabytes} MB: answer {state}, {grown:.1f} MB more, {took:.0f} s\n")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()
    main()
