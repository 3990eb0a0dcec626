"""docs/contracts.md lists every requirement there is, with its title and its own limits."""

from pathlib import Path

from qa.domain.pay import COUNTS, ROUNDINGS
from qa.domain.requirement import PER_SLEEVE, RULES
from repairs.domain.limits import NEEDED_BY

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "contracts.md").read_text(encoding="utf-8")


def test_each_requirement_stands_once_with_title_and_limits() -> None:
    """Neither more nor less than the code has, in its order."""
    rows = [line for line in PAGE.splitlines() if line.startswith("| `") and line.count("|") == 5]
    wanted = [
        (f"`{code}`{'*' if code in PER_SLEEVE else ''}", title,
         ", ".join(f"`{name}`" for name in NEEDED_BY.get(code, ())))
        for code, (title, _) in RULES.items()
    ]  # fmt: skip
    found = [
        (cells[1], cells[2], cells[4])
        for cells in ([cell.strip() for cell in row.split("|")] for row in rows)
    ]

    assert found == wanted


def test_what_is_counted_and_rounded_is_all_there() -> None:
    """The words of the pay table."""
    assert all(f"`{word}`" in PAGE for word in (*COUNTS, *ROUNDINGS))
