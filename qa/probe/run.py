"""Opens a hostile file in a process of its own and returns what it learnt, in plain words.

Whatever the file does to its reader (crash, spin, eat memory) ends with the
child; the caller gets a ``problem`` and goes on.
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from threading import Timer
from typing import Literal

from repairs.domain.storable import unstorable

MediaKind = Literal["photo", "film", "series"]

WALL_S = 20.0
"""Longest a file may be looked at; measured cost is 0.1 to 0.3 s."""

LONGEST_ANSWER = 65_536
"""Bytes read from the child: even a child taken over by a file cannot fill our memory."""

NONSENSE = "The file made its reader say nonsense; it is not used."

_ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
"""A thread a core, each with its own memory, would run into the limit on a large machine."""

_CHILD = "qa.probe.child"
_ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class ProbeResult:
    """What a file says of itself.

    Parameters
    ----------
    facts : dict[str, object]
        JSON values, listed in ``qa.probe.photo``, ``film`` and ``series``; empty when
        nothing could be read.
    problem : str or None
        Why the file cannot serve as evidence, in words for the person who sent
        it; None when it can.
    derived : bytes
        What was made anew of the content: the picture people look at, or a series' numbers.
        Whoever uses it trusts it no more than the file.
    cut_off : tuple of str
        What the reading process had given up, in the words of ``qa.probe.isolation``.
    """

    facts: dict[str, object] = field(default_factory=dict)
    problem: str | None = None
    derived: bytes = b""
    cut_off: tuple[str, ...] = ()


def probe(path: Path, media_kind: MediaKind) -> ProbeResult:
    """Return the facts of the file at `path`, never raising because of what is in it."""
    if not path.is_file():
        return ProbeResult(problem="The file is not there any more.")
    if path.stat().st_size == 0:
        return ProbeResult(problem="The file is empty.")
    with tempfile.TemporaryDirectory(prefix="probe-") as folder:
        made = Path(folder, "derived")
        made.touch()
        said, exit_code = _ask(path, media_kind, made)
        return understood(said, exit_code, made.read_bytes())


def understood(said: bytes, exit_code: int, derived: bytes) -> ProbeResult:
    """Return what the child told, or why it could not; it is believed no more than the file."""
    if exit_code != 0:
        return ProbeResult(problem=_why(exit_code))
    try:
        answer = json.loads(said)
        facts, problem = dict(answer["facts"]), answer["problem"]
        cut_off = tuple(map(str, answer.get("cut_off", ())))
    except (ValueError, KeyError, TypeError, RecursionError):
        return ProbeResult(problem=NONSENSE)
    if unstorable(facts) or unstorable(problem) or not isinstance(problem, str | None):
        return ProbeResult(problem=NONSENSE, cut_off=cut_off)
    return ProbeResult(facts, problem, b"" if problem else derived, cut_off)


def _ask(path: Path, media_kind: MediaKind, made: Path) -> tuple[bytes, int]:
    # -s -P -B: nothing from the user's folders, nothing from the file's, no cache written.
    command = [sys.executable, "-s", "-P", "-B", "-m", _CHILD, media_kind]
    clean = {"PATH": os.defpath, "PYTHONPATH": str(_ROOT), "LC_ALL": "C.UTF-8", **_ONE_THREAD}
    with subprocess.Popen(
        [*command, str(path.resolve()), str(made)],
        cwd="/",
        env=clean,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    ) as child:
        watchdog = Timer(WALL_S, child.kill)
        watchdog.start()
        said = child.stdout.read(LONGEST_ANSWER) if child.stdout else b""
        if len(said) == LONGEST_ANSWER:
            child.kill()
        exit_code = child.wait()
        watchdog.cancel()
    return said, exit_code


def _why(exit_code: int) -> str:
    if -exit_code in {signal.SIGKILL, signal.SIGXCPU}:
        return "The file took too long to read; it is not used."
    return "The file made its reader fail; it is damaged or made to do harm."
