"""``python -m qa.probe.child KIND PATH DERIVED``: reads one file under limits, prints a JSON line.

Only ever started by ``qa.probe.run``. No Django, no settings, no secrets: what takes this
process over finds nothing to take. What is made of the file's content goes to DERIVED, which
is there and empty; it is the one thing that can be written.
"""

import importlib
import json
import os
import sys
from typing import Any, BinaryIO

from qa.probe import isolation
from qa.probe.found import Found
from qa.probe.problem import FileProblem

MEDIA = ("photo", "film", "series")
"""Each kind of file has its reader in the module of its name."""

MOST_DERIVED_BYTES = {"photo": 2**21, "film": 2**21, "series": 2**26}
"""What may be made of a file: a small picture, or two million rows of three numbers."""


def read(kind: str, file: BinaryIO, out: BinaryIO, reader: Any) -> dict[str, object]:
    """Return ``{"facts": ..., "problem": ...}`` for the file; write what was made of it."""
    try:
        found: Found = reader.read(file)
        if len(found.derived) <= MOST_DERIVED_BYTES[kind]:
            out.write(found.derived)
    except FileProblem as known:
        return {"facts": known.facts, "problem": str(known)}
    except MemoryError:
        return {"facts": {}, "problem": "The file needs more memory than one file may have."}
    except Exception as error:  # noqa: BLE001 - a hostile file may raise anything
        name = type(error).__name__
        return {"facts": {}, "problem": f"The file cannot be read as a {kind} ({name})."}
    return {"facts": found.facts, "problem": None}


def main(kind: str, path: str, derived: str) -> None:
    """Open both files, give everything else up, read and tell."""
    if kind not in MEDIA:
        raise ValueError(kind)
    cut_off = isolation.cut_the_network()
    reader = importlib.import_module(f"qa.probe.{kind}")
    with open(path, "rb") as file, open(derived, "wb", buffering=0) as out:  # noqa: PTH123
        cut_off += isolation.shut(MOST_DERIVED_BYTES[kind])
        answer = {**read(kind, file, out, reader), "cut_off": cut_off}
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()
        # Nothing of a process that touched the file is run any more, not even its clean-up.
        os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
