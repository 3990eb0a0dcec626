"""The calculations run where there is no Django, no server and no database."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[3]
ALONE = """
import json, sys
for name in ("django", "rest_framework", "celery"):
    sys.modules[name] = None
from datetime import UTC, datetime
from qa.calculations.calculation import answer
from qa.calculations.registry import CALCULATIONS
for each in CALCULATIONS.values():
    answer(each, each.example, now=datetime(2026, 11, 25, tzinfo=UTC))
print(len(CALCULATIONS))
"""


def test_every_example_runs_without_django() -> None:
    """In a process of its own, in which Django, its REST framework and Celery are blocked."""
    command = [sys.executable, "-c", ALONE]
    found = subprocess.run(
        command, capture_output=True, text=True, check=False, cwd=ROOT, timeout=60
    )

    assert found.stderr == ""
    assert int(found.stdout) >= 17
