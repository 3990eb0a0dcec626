"""Shows what would be read of a file."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from qa.probe.run import probe


class Command(BaseCommand):
    help = (
        "Reads a photo, film or series as the service does and prints its facts or its problem, "
        "and what the reading process had given up on this machine. Stores nothing. "
        "Example: manage.py look_into photo label.heic"
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=["photo", "film", "series"])
        parser.add_argument("file", type=Path)

    def handle(self, **asked: Any) -> None:
        found = probe(asked["file"], asked["kind"])
        told = {
            "facts": found.facts,
            "problem": found.problem,
            "derived_bytes": len(found.derived),
            "cut_off": found.cut_off,
        }
        self.stdout.write(json.dumps(told, indent=2, ensure_ascii=False))
