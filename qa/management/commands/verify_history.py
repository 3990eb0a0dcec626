"""Checks that the history was not bent."""

import json
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from qa.history_check import Anchor, history_faults, read_anchor

TEACHES = """\
Reads the whole history and every record it names, and says what does not fit: a fact that was
edited, deleted, put in or dated otherwise; an entry that was changed, moved or cut off; a
checkpoint without a good signature.

Whoever holds the database and the signing key could write everything anew. They do not hold what
others have: give a signature.json out of a package the client kept, or an older checkpoint, and
it is compared too.

Examples:
  manage.py verify_history
  manage.py verify_history --against signature.json another/signature.json
"""


class Command(BaseCommand):
    """Ends with 1 and a line for each fault, or says how much was checked."""

    help = "checks that nothing of the history was edited, deleted, put in, moved or cut off"

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        """Keep the lines of the examples as they are."""
        kwargs |= {"epilog": TEACHES, "formatter_class": RawDescriptionHelpFormatter}
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the copies to compare with."""
        parser.add_argument(
            "--against", nargs="+", type=Path, default=[], metavar="signature.json",
            help="heads of the history that others kept",
        )  # fmt: skip

    def handle(self, **options: Any) -> None:
        """Check, and tell."""
        anchors = [_anchor(path) for path in options["against"]]
        found = history_faults(anchors)
        for line in found.faults:
            self.stdout.write(line)
        if found.faults:
            raise CommandError(f"{len(found.faults)} fault(s) in {found.entries} entries.")
        self.stdout.write(
            f"{found.entries} entries and {found.checkpoints} checkpoints are in order; "
            f"{found.waiting} new fact(s) wait for their entry. Signed up to entry {found.signed}."
        )


def _anchor(path: Path) -> Anchor:
    try:
        return read_anchor(json.loads(path.read_text(encoding="utf-8")), path.name)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise CommandError(
            f"--against: {path.name} is no signature.json of a package: {error!r}"
        ) from error
