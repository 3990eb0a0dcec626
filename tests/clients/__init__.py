"""Outside clients the tests drive, from the npm registry."""

import fcntl
import subprocess
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent


@cache
def installed() -> Path:
    """Return the folder with the clients installed, as the lock file says."""
    with (FOLDER / "package-lock.json").open() as lock:
        # Both halves of the suite may come here at once.
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (FOLDER / "node_modules" / ".package-lock.json").is_file():
            subprocess.run(["npm", "ci", "--silent"], cwd=FOLDER, check=True)  # noqa: S607
    return FOLDER
