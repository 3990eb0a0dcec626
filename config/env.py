"""Reads settings from the environment and fails loudly when one is wrong.

Each reader names the variable in its error, so that a mistyped setting is
mended in one step. Any variable may come from a file instead: set
``<NAME>_FILE`` to its path (how container secrets are usually given).
"""

import os
from pathlib import Path
from typing import TypeVar

from django.core.exceptions import ImproperlyConfigured

W = TypeVar("W", bound=str)

_TRUE = {"1", "true", "yes", "on"}
_FALSE = {"0", "false", "no", "off", ""}


def text(name: str, default: str | None = None) -> str:
    """Return the variable `name`, or `default`; refuse to start when neither is there."""
    path = os.environ.get(f"{name}_FILE")
    if path:
        try:
            return Path(path).read_text(encoding="utf-8").strip()
        except OSError as error:
            raise ImproperlyConfigured(f"{name}_FILE: cannot read {path!r}: {error}") from error
    value = os.environ.get(name, default)
    if value is None:
        raise ImproperlyConfigured(f"{name} is not set and has no default. See .env.example.")
    return value


def flag(name: str, *, default: bool) -> bool:
    """Return a yes/no variable; anything but a plain yes or no is refused."""
    value = text(name, "yes" if default else "no").strip().lower()
    if value in _TRUE:
        return True
    if value in _FALSE:
        return False
    raise ImproperlyConfigured(f"{name}: found {value!r}, expected yes or no.")


def number(name: str, default: int, *, low: int = 0, high: int = 2**31) -> int:
    """Return a whole number within `low` and `high`, both included."""
    value = text(name, str(default))
    try:
        found = int(value)
    except ValueError:
        raise ImproperlyConfigured(f"{name}: found {value!r}, expected a whole number.") from None
    if not low <= found <= high:
        raise ImproperlyConfigured(f"{name}: found {found}, expected {low} to {high}.")
    return found


def words(name: str, default: str = "") -> list[str]:
    """Return a comma-separated variable as a list without empty entries."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def choice(name: str, *words: W) -> W:
    """Return a variable that is one of `words`; the first is the default."""
    found = text(name, words[0])
    for word in words:
        if word == found:
            return word
    raise ImproperlyConfigured(f"{name}: found {found!r}, expected {' or '.join(words)}.")
