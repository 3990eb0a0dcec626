"""A real service of ways on this machine, which answers as it is told, well or badly."""

import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

Table = list[list[Any]]


@dataclass
class WaysService:
    """What was asked, and how it is answered."""

    url: str = ""
    asked: list[dict[str, Any]] = field(default_factory=list)
    headers: list[dict[str, str]] = field(default_factory=list)
    status: int = 200
    drip_s: float = 0.0
    """Where it is not 0: seconds between one byte and the next."""
    body: Callable[[dict[str, Any]], str] = field(default=lambda asked: json.dumps(table(asked)))


def seconds_of(start: list[float], end: list[float]) -> int:
    """Return the invented way: a second for each ten thousandth of a degree, east dearer."""
    east, north = end[0] - start[0], end[1] - start[1]
    return round(1e4 * (abs(north) + 2 * max(east, 0) + max(-east, 0)))


def table(asked: dict[str, Any]) -> dict[str, Table]:
    """Return a good answer."""
    durations = [[seconds_of(s, d) for d in asked["destinations"]] for s in asked["sources"]]
    return {"durations": durations, "distances": [[15 * s for s in row] for row in durations]}


@contextmanager
def ways_service() -> Iterator[WaysService]:
    """Listen on a free port of this machine."""
    told = WaysService()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            told.asked.append(asked)
            told.headers.append({name.lower(): value for name, value in self.headers.items()})
            body = told.body(asked).encode()
            self.send_response(told.status)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            if not told.drip_s:
                self.wfile.write(body)
                return
            for byte in body:
                time.sleep(told.drip_s)
                self.wfile.write(bytes([byte]))

        def log_message(self, *_args: object) -> None:
            """Say nothing."""

        def handle(self) -> None:
            try:
                super().handle()
            except ConnectionError:
                """The caller had enough."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.block_on_close = False
    threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
    told.url = f"http://127.0.0.1:{server.server_address[1]}/table?profile=invented"
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
