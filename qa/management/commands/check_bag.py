"""Checks anybody's bag, a folder or a zip of one, and names what is wrong with it."""

import shutil
import tempfile
import zipfile
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from qa.closeout.bag_check import check_bag


class Command(BaseCommand):
    """One line a problem, then one a warning; ends with 1 if there is a problem."""

    help = (
        "checks a BagIt bag (RFC 8493, and its drafts 0.93 to 0.97), a folder or a zip of one, by "
        "whomever it was made. Signatures are checked by verify_package.py inside our packages."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the bag."""
        parser.add_argument("bag", type=Path, metavar="FOLDER_OR_ZIP")

    def handle(self, **options: Any) -> None:
        """Check it."""
        with _unpacked(options["bag"]) as folder:
            found = check_bag(folder)
        for words in found.problems:
            self.stdout.write(f"wrong: {words}")
        for words in found.warnings:
            self.stdout.write(f"beware: {words}")
        if not found.valid:
            raise CommandError(f"{len(found.problems)} problem(s): this is no valid bag.")
        self.stdout.write(f"Valid, {len(found.warnings)} warning(s).")


@contextmanager
def _unpacked(path: Path) -> Iterator[Path]:
    """Give the folder of the bag; a zip is unpacked into a folder that goes away again."""
    if path.is_dir():
        yield path
        return
    if not zipfile.is_zipfile(path):
        raise CommandError(f"{path}: neither a folder nor a zip.")
    with tempfile.TemporaryDirectory() as place, zipfile.ZipFile(path) as archive:
        whole = sum(each.file_size for each in archive.infolist())
        if whole > shutil.disk_usage(place).free:
            raise CommandError(f"{path}: {whole} bytes unpacked; there is no room for them.")
        try:
            archive.extractall(place)
        except (zipfile.BadZipFile, OSError, RuntimeError) as error:
            raise CommandError(f"{path}: cannot be unpacked: {error}") from error
        tops = list(Path(place).iterdir())
        yield tops[0] if len(tops) == 1 and tops[0].is_dir() else Path(place)
