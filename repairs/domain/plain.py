"""A record's values as JSON holds them: the same text on every database, for ever."""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID


def stamp(at: datetime) -> str:
    """Return a time as it is kept: UTC to the microsecond.

    Raises
    ------
    ValueError
        If the time has no zone.
    """
    if at.tzinfo is None:
        raise ValueError(f"{at.isoformat()} has no zone")
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def plain(value: Any) -> Any:
    """Turn a column's value into what JSON holds."""
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    return [plain(each) for each in value] if isinstance(value, list | tuple) else value
