"""What no honest package could be made from: a naive time, no number, no hash, no such file."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import datetime
from decimal import Decimal


def known(what: str, named: Sequence[str], ids: Sequence[str]) -> None:
    """Refuse to name a file that is not in the package."""
    unknown = set(named) - set(ids)
    if unknown:
        raise ValueError(f"{what}: unknown evidence {sorted(unknown)}")


def check(value: object, where: str) -> None:
    """Walk the facts and refuse a naive time, a number that is none, a malformed hash."""
    if isinstance(value, datetime) and value.utcoffset() is None:
        raise ValueError(f"{where}: found a time without a zone, needs an aware one")
    if isinstance(value, float | Decimal) and not math.isfinite(value):
        raise ValueError(f"{where}: found {value}, needs a finite number")
    if is_dataclass(value):
        for field in fields(value):
            each = getattr(value, field.name)
            if field.name == "sha256" and not re.fullmatch(r"[0-9a-f]{64}", each):
                raise ValueError(f"{where}.sha256: found no 64 lower-case hexadecimal digits")
            check(each, f"{where}.{field.name}")
    elif isinstance(value, Mapping):
        for key, each in value.items():
            check(each, f"{where}[{key!r}]")
    elif isinstance(value, tuple | list):
        for number, each in enumerate(value):
            check(each, f"{where}[{number}]")
