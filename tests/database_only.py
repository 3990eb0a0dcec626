"""``pytest --database-only``: for the second database only what touches it is run again."""

from pathlib import Path

import pytest

WHOLE_FOLDERS = ("flows", "api")
"""Not `faults`: those tests make databases of both kinds themselves, in the first half already."""
PURE = frozenset({"test_month_of_events.py", "test_shuffled_day.py"})
"""Of these folders, but no database has a say in them."""
TOUCHING = frozenset({"db", "transactional_db", "django_db_setup", "service"})


def pytest_addoption(parser: pytest.Parser) -> None:
    """Declare the option."""
    parser.addoption(
        "--database-only", action="store_true", help="run only the tests that touch a database"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what touches no database; play the faults last.

    By then the other half, which runs beside this one, has ended: whoever measures how late
    something was wants the machine for itself.
    """
    items.sort(key=lambda item: "faults" in Path(item.path).parts)
    if not config.getoption("--database-only"):
        return
    kept = [item for item in items if _touches(item)]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


def _touches(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    path = Path(item.path)
    whole = path.name not in PURE and any(folder in path.parts for folder in WHOLE_FOLDERS)
    return whole or item.get_closest_marker("django_db") is not None or bool(fixtures & TOUCHING)
