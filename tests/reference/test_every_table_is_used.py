"""No published table lies here without a test that reads it."""

from pathlib import Path

HERE = Path(__file__).parent


def test_every_table_is_named_by_a_test() -> None:
    """Each CSV of the data folder is read by one of the tests beside it."""
    tests = "".join(path.read_text(encoding="utf-8") for path in HERE.glob("*.py"))
    tables = sorted(path.stem for path in (HERE / "data").glob("*.csv"))

    assert tables
    assert [name for name in tables if name not in tests] == []


def test_every_row_says_where_it_comes_from() -> None:
    """Two columns in every table: the source, and whether it was read."""
    for path in (HERE / "data").glob("*.csv"):
        header = path.read_text(encoding="utf-8").splitlines()[0].split(",")
        assert {"source", "read_or_memory"} <= set(header), path.name
