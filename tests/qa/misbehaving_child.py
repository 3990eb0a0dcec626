"""Stands for the probe's child taken over by a file: does what the file's first word says."""

import json
import os
import signal
import socket
import sys
import time
from collections.abc import Callable
from pathlib import Path

from qa.probe import isolation


def tried(what: Callable[[], object]) -> str:
    """Do something forbidden and return what came of it."""
    try:
        what()
    except OSError:
        return "OSError"
    return "done"


def reach(made: Path, *, namespace: bool) -> None:
    """Give everything up as the child does, then reach for it."""
    out = made.open("wb", buffering=0)
    # Where the kernel grants no namespace, this is all there is.
    cut_off = (isolation.cut_the_network() if namespace else []) + isolation.shut(1000)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    facts = {
        "socket": tried(socket.socket),
        "file": tried(lambda: Path("/etc/hostname").read_text()),
        "write": "too large" if out.write(bytes(2000)) < 2000 else "done",
    }
    sys.stdout.write(json.dumps({"facts": facts, "problem": None, "cut_off": cut_off}))
    sys.stdout.flush()
    os._exit(0)


match Path(sys.argv[2]).read_text().split():
    case ["crash", *_]:
        os.abort()
    case ["sleep", *_]:
        time.sleep(60)
    case ["babble", *_]:
        while True:
            sys.stdout.write("x" * 10_000)
    case ["nonsense", *_]:
        sys.stdout.write('["neither facts nor problem"]')
    case ["reach", *rest]:
        reach(Path(sys.argv[3]), namespace=rest != ["bare"])
    case ["spy", *_]:
        sys.stdout.write(f'{{"facts": {{"seen": {len(os.environ)}}}, "problem": null}}')
