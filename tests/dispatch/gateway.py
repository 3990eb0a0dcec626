"""A real receiver on this machine: it keeps what it is sent and answers as it is told."""

import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass
class Gateway:
    """What came in, and what is answered."""

    url: str = ""
    status: int = 204
    headers: dict[str, str] = field(default_factory=dict)
    came: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)


@contextmanager
def gateway(*, tls: ssl.SSLContext | None = None) -> Iterator[Gateway]:
    """Listen on a free port of this machine, in the clear or by TLS."""
    kept = Gateway()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            length = int(self.headers["Content-Length"])
            given = {name.lower(): value for name, value in self.headers.items()}
            kept.came.append((given, self.rfile.read(length)))
            kept.paths.append(self.path)
            self.send_response(kept.status)
            for name, value in kept.headers.items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_args: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    if tls is not None:
        server.socket = tls.wrap_socket(
            server.socket, server_side=True, do_handshake_on_connect=False
        )
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    kept.url = f"http://127.0.0.1:{server.server_address[1]}/told"
    try:
        yield kept
    finally:
        server.shutdown()
        server.server_close()
