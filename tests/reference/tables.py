"""Reads the published tables and their known misprints."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    """Return the rows of one published table."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def errata(name: str) -> dict[tuple[float, str], dict[str, str]]:
    """Return a table's known misprints, by diameter in inches and item."""
    return {
        (float(row["diameter_in"]), row["item"]): row
        for row in table("errata")
        if row["table"] == name
    }
