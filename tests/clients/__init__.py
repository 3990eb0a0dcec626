"""Outside clients the tests drive, from the npm registry."""

import subprocess
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent


@cache
def installed() -> Path:
    """Return the folder with the clients installed, as the lock file says."""
    if not (FOLDER / "node_modules" / "tus-js-client").is_dir():
        subprocess.run(["npm", "ci", "--silent"], cwd=FOLDER, check=True)  # noqa: S607
    return FOLDER
