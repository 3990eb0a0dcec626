"""A Redis of its own, to be killed, frozen, emptied and brought back."""

import shutil
import signal
import socket
import subprocess
import time
from pathlib import Path

SERVER = shutil.which("redis-server") or ""


class Broker:
    """A Redis of its own that keeps nothing."""

    def __init__(self, folder: Path) -> None:
        """Start it on a free port."""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder = folder
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.start()

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = ["--port", str(self.port), "--save", "", "--appendonly", "no"]
        options += ["--bind", "127.0.0.1"]
        with (self.folder / "redis.txt").open("ab") as log:
            self.process = subprocess.Popen(
                [SERVER, *options], cwd=self.folder, stdout=log, stderr=log
            )
        for _ in range(100):
            with socket.socket() as door:
                if door.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)

    def say(self, what: int) -> None:
        """Send the server a signal."""
        self.process.send_signal(what)

    def come_back(self) -> None:
        """End what is left of the server and start it anew, empty."""
        self.end()
        self.start()

    def forget(self) -> None:
        """Lose everything, as FLUSHALL does."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=2) as door:
            door.sendall(b"FLUSHALL\r\n")
            if not door.recv(16).startswith(b"+OK"):
                raise ConnectionError("Redis did not flush")

    def end(self) -> None:
        """Kill it, frozen or not."""
        if self.process.poll() is None:
            self.say(signal.SIGKILL)
        self.process.wait()
