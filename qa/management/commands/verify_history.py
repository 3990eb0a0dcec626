"""Checks that the history was not bent."""

import json
import zipfile
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from qa.closeout.signature import FILE_NAME as SIGNATURE
from qa.history_check import Anchor, history_faults, read_anchor

TEACHES = """\
Reads the whole history and every record it names, and says what does not fit: a fact that was
edited, deleted, put in or dated otherwise; an entry that was changed, moved or cut off; a
checkpoint without a good signature.

Whoever holds the database and the signing key could write everything anew. They do not hold what
others have: give a package the client kept, or the signature.json out of it, and it is compared
too.

Examples:
  manage.py verify_history
  manage.py verify_history --against WO-1-R-1-attempt-1.zip
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
            "--against", nargs="+", type=Path, default=[], metavar="PACKAGE_OR_SIGNATURE",
            help="packages, or their signature.json, that others kept",
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
        for each in anchors:
            self.stdout.write(
                f"Compared with {each.told_by}: the history is the same up to entry "
                f"{each.checkpoint.entries}, where it stood then."
            )


def _anchor(path: Path) -> Anchor:
    try:
        return read_anchor(json.loads(_signature(path).decode("utf-8")), path.name)
    except OSError as error:
        why = f"cannot be read: {error.strerror or error}"
    except (ValueError, KeyError, TypeError, zipfile.BadZipFile, RuntimeError):
        # What a decoder says would print the whole file.
        why = "is no package of ours and no signature.json of one"
    raise CommandError(f"--against: {path.name} {why}; expected one of the two that was kept.")


def _signature(path: Path) -> bytes:
    """Return the bytes of signature.json, out of the package's zip where that is given."""
    if not zipfile.is_zipfile(path):
        return path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        names = [each for each in archive.namelist() if Path(each).name == SIGNATURE]
        # The shortest is the package's own; others would be files that were handed in.
        return archive.read(min(names, key=lambda each: each.count("/")))
