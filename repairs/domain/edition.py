"""Which edition of a thing somebody saw, so that two people never overwrite each other."""

import hashlib
import json
from collections.abc import Mapping

from repairs.domain.problem import Refused

ANY = "*"
"""Whoever sends this as the edition changes whatever is there (RFC 9110, section 13.1.1)."""
_DIGITS = 32


def edition_of(values: Mapping[str, object]) -> str:
    """Return the digest of the editable values: the same values, the same edition.

    Parameters
    ----------
    values
        By field name; numbers, text, dates, instants or None.

    Returns
    -------
    str
        The first 128 bits of a SHA-256, in hexadecimal.
    """
    canonical = json.dumps(values, default=str, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("utf-8", "surrogatepass")).hexdigest()[:_DIGITS]


def refuse_stale(present: str, seen: frozenset[str]) -> None:
    """Refuse a change by somebody who saw another edition than the present one.

    Raises
    ------
    Refused
        ``changed_meanwhile``, status 412.
    """
    if present in seen or ANY in seen:
        return
    raise Refused(
        "changed_meanwhile",
        "Somebody changed it after you saw it; fetch it again and look at what is there now.",
        status=412,
    )
