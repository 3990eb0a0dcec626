"""The facts of a closeout as plain JSON values: the shape of record.json."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

from qa.domain.closeout import CloseoutFacts

RECORD_FORMAT = "curewright-closeout-1"
"""Names the shape of record.json; a change that breaks readers gets a new number."""


def record(facts: CloseoutFacts) -> dict[str, object]:
    """Put the facts into plain JSON values, in the order they are declared.

    Parameters
    ----------
    facts
        The facts of one attempt.

    Returns
    -------
    dict
        Strings, numbers, booleans, None, lists and dicts only. Times are ISO 8601 in UTC ending
        in Z; decimals are strings, so that no digit is lost. Units are in the names.
    """
    return {"format": RECORD_FORMAT} | {
        field.name: _plain(getattr(facts, field.name)) for field in fields(facts)
    }


def _plain(value: object) -> object:
    """Turn one value into what JSON can hold."""
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(value[key]) for key in sorted(value)}
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    return _scalar(value)


def _scalar(value: object) -> object:
    """Turn a time or a decimal into its text; leave the rest."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    return format(value, "f") if isinstance(value, Decimal) else value
