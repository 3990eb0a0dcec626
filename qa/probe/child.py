"""``python -m qa.probe.child KIND PATH``: reads one file under limits, prints one JSON line.

Only ever started by ``qa.probe.run``. No Django, no settings, no secrets: what
takes this process over finds nothing to take.
"""

import json
import resource
import sys
from pathlib import Path

from qa.probe import film, photo
from qa.probe.problem import FileProblem

GIB = 2**30
LIMITS = (
    (resource.RLIMIT_AS, GIB),
    (resource.RLIMIT_CPU, 10),
    (resource.RLIMIT_FSIZE, 0),
    (resource.RLIMIT_NOFILE, 32),
    (resource.RLIMIT_CORE, 0),
)
"""Measured to be ample for a 64-megapixel photo; a file that needs more is refused."""

READERS = {"photo": photo.read, "film": film.read}


def main(kind: str, path: Path) -> dict[str, object]:
    """Return ``{"facts": ..., "problem": ...}`` for the file."""
    for which, most in LIMITS:
        resource.setrlimit(which, (most, most))
    try:
        return {"facts": READERS[kind](path), "problem": None}
    except FileProblem as found:
        return {"facts": found.facts, "problem": str(found)}
    except MemoryError:
        return {"facts": {}, "problem": "The file needs more memory than one file may have."}
    except Exception as error:  # noqa: BLE001 - a hostile file may raise anything
        name = type(error).__name__
        return {"facts": {}, "problem": f"The file cannot be read as a {kind} ({name})."}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(sys.argv[1], Path(sys.argv[2]))) + "\n")
