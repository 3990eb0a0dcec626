"""Parts of the suite, so that two can run side by side: ``tests/run_all.py`` puts them together.

``--database-only`` is what touches a database, and is run on each of them; ``--pure-only`` is what
touches none; ``--faults-only`` is what kills real processes and wants the machine for itself.
Together they are everything.
"""

from inspect import signature
from pathlib import Path

import pytest

WHOLE_FOLDERS = ("flows", "api")
"""Not `faults`: those tests make databases of both kinds themselves."""
PURE = frozenset({"test_month_of_events.py", "test_shuffled_day.py"})
"""Of these folders, but no database has a say in them."""
TOUCHING = frozenset({"db", "transactional_db", "django_db_setup", "service"})

PARTS = {
    "--database-only": "run only the tests that touch a database",
    "--pure-only": "run only the tests that touch no database and kill no process",
    "--faults-only": "run only the tests that kill real processes",
}


def pytest_addoption(parser: pytest.Parser) -> None:
    """Declare the parts."""
    for option, words in PARTS.items():
        parser.addoption(option, action="store_true", help=words)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what belongs to other parts; play the faults last."""
    items.sort(key=_is_fault)
    asked = [option for option in PARTS if config.getoption(option)]
    if not asked:
        return
    kept = [item for item in items if _part(item) in asked]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


def _part(item: pytest.Item) -> str:
    if _is_fault(item):
        return "--faults-only"
    return "--database-only" if _touches(item) else "--pure-only"


def _is_fault(item: pytest.Item) -> bool:
    return "faults" in Path(item.path).parts


def _touches(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    path = Path(item.path)
    whole = path.name not in PURE and any(folder in path.parts for folder in WHOLE_FOLDERS)
    marked = item.get_closest_marker("django_db") is not None
    return whole or marked or bool(fixtures & TOUCHING) or _asks_by_name(item)


def _asks_by_name(item: pytest.Item) -> bool:
    """Return whether a test takes whom it needs by name, such as each role in turn: rows."""
    function = getattr(item, "function", None)
    return function is not None and "request" in signature(function).parameters
