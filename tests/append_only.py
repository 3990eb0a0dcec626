"""Lets the test runner empty the append-only tables between tests, and nobody else.

Django's flush empties every table, which the triggers of the history refuse: they are taken
away for it and set again at once.
"""

from typing import Any

from django.db import connection

from qa.history_triggers import create, drop


def flush_past_the_triggers() -> None:
    """Have every flush of this process take the triggers away and set them again."""
    flush = connection.ops.sql_flush

    def past(*args: Any, **kwargs: Any) -> list[str]:
        vendor = connection.vendor
        return [*drop(vendor), *flush(*args, **kwargs), *create(vendor)]

    connection.ops.sql_flush = past  # type: ignore[method-assign]
