"""A package whose building is shot fifty times: one file with one hash, and nothing beside it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faults.place import ROOT

pytestmark = pytest.mark.slow
KILLS = 50


def test_a_build_that_is_shot_fifty_times_gives_one_package_with_one_hash(tmp_path: Path) -> None:
    """SIGKILL from before the first byte to after the last; an undisturbed build tells the hash."""
    settings = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "CUREWRIGHT_DEBUG": "yes",
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "CUREWRIGHT_DATABASE_URL": f"sqlite:///{tmp_path / 'packages.sqlite3'}",
        "CUREWRIGHT_VAR": str(tmp_path),
        "CUREWRIGHT_HOSTS": "testserver",
    }

    def python(*command: str) -> bytes:
        done = subprocess.run(
            [sys.executable, "-m", *command], cwd=ROOT, env=settings, capture_output=True,
            check=False, timeout=300,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode(errors="replace")[-4_000:]
        return done.stdout

    python("django", "migrate", "-v0")
    found = json.loads(python("tests.faults.package_to_build", str(tmp_path / "files"), str(KILLS)))

    assert found["found"] == found["stored"] == found["wanted"]
    assert (found["packages"], found["files"]) == (1, [found["name"]])
    # Some were shot before the first byte and after the last; the rest in between.
    assert found["shot_while_writing"] >= 5
