"""The 54 cases of the BagIt conformance suite of the Library of Congress, each as a bag.

The list is `bagit_suite.csv`: what the suite expects of each, and whether the bag made here holds
the suite's own files (`bagit_suite/`, see its SOURCES.md), some of them, or none.
"""

import csv
from pathlib import Path
from typing import NamedTuple

from tests.qa.bagit_partly import completed, copied
from tests.qa.bagit_rebuilt import REBUILT


class Row(NamedTuple):
    """A row of the suite's list."""

    suite_version: str
    category: str
    bag: str
    holds: str
    said: str
    sources: str

    @property
    def path(self) -> str:
        """Return where the suite keeps the bag."""
        return f"{self.suite_version}/{self.category}/{self.bag}"

    def __str__(self) -> str:
        """Return the path and whose files it is made of, as the name of a test."""
        return f"{self.path}-{self.holds}"


def rows() -> tuple[Row, ...]:
    """Read the suite's list."""
    text = Path(__file__).with_name("bagit_suite.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple(Row(**row) for row in csv.DictReader(lines))


SUITE = rows()
BY_PATH = {row.path: row for row in SUITE}


def made(folder: Path, path: str) -> Path:
    """Build a case below a folder, by the suite's path such as v0.97/valid/basic-bag."""
    row, bag = BY_PATH[path], folder / "bag"
    if row.holds in ("original", "twin"):
        copied(bag, row.sources)
    elif row.holds == "partly":
        completed(bag, row.bag, tuple(row.sources.split()))
    else:
        REBUILT[row.bag](bag, row.suite_version.removeprefix("v"))
    return bag
