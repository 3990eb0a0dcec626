"""``pytest --database-only``: for the second database only what touches it is run again."""

from pathlib import Path

import pytest

WHOLE_FOLDERS = ("flows", "api")
"""Not `faults`: those tests make databases of both kinds themselves, in the first half already."""
TOUCHING = frozenset({"db", "transactional_db", "django_db_setup", "service"})


def pytest_addoption(parser: pytest.Parser) -> None:
    """Declare the option."""
    parser.addoption(
        "--database-only", action="store_true", help="run only the tests that touch a database"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what touches no database."""
    if not config.getoption("--database-only"):
        return
    kept = [item for item in items if _touches(item)]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


def _touches(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    whole = any(folder in Path(item.path).parts for folder in WHOLE_FOLDERS)
    return whole or item.get_closest_marker("django_db") is not None or bool(fixtures & TOUCHING)
