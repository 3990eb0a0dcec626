"""Week dates and defect codes, against the open standards they are taken from."""

from datetime import date

import pytest

from repairs.domain.defect_codes import DEFECT_CODES, FROM_MEMORY, READ, meaning_of
from tests.reference.tables import table

WEEKS, CODES = table("c8_iso8601"), table("c8_en13508_codes")
NO_DEFECT = {"BCA", "BCB", "BCD / BCE", "BDB", "BDC", "BDD"}
"""Inventory and remarks: a connection, a repair, nodes, a remark, an end, a water level."""


@pytest.mark.parametrize("row", WEEKS, ids=lambda row: row["calendar"])
def test_a_week_belongs_to_the_year_of_its_thursday(row: dict[str, str]) -> None:
    """2027-01-01 is a day of week 53 of 2026: a board by weeks must not say 2027.

    Source: c8_iso8601.csv: two examples FROM MEMORY, the others COMPUTED.
    """
    day = date.fromisoformat(row["calendar"])
    year, week, weekday = day.isocalendar()

    assert f"{year}-W{week:02d}-{weekday}" == row["week_date_python"]
    assert date.fromisoformat(row["week_date_python"]) == day
    assert f"{day:%Y-%j}" == row["ordinal"]
    assert row["published"] in ("", row["week_date_python"])


@pytest.mark.parametrize("row", CODES, ids=lambda row: row["code"])
def test_a_defect_code_is_known_and_says_where_from(row: dict[str, str]) -> None:
    """Every code of a defect has its words, marked as read or as from memory.

    Source: c8_en13508_codes.csv, columns `source` and `read_or_memory`.
    """
    if row["code"] in NO_DEFECT:
        assert row["code"] not in DEFECT_CODES
        assert meaning_of(row["code"]) == "the owner's own code"
        return
    _, source = DEFECT_CODES[row["code"]]
    assert source == (READ if row["read_or_memory"].startswith("READ") else FROM_MEMORY)


def test_no_code_is_made_up() -> None:
    """The project's list is the published one without what is no defect."""
    assert set(DEFECT_CODES) | NO_DEFECT == {row["code"] for row in CODES}
