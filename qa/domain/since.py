"""A cursor that holds what a phone has seen: nothing can slip between two askings.

A log of changes read by its number loses what commits late. Here the phone brings back, in
one opaque word, a short digest of each repair as it was told it; what differs is told again.
"""

import hashlib
import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from repairs.domain.problem import Fault, shown

_VERSION = b"\x01"
_ID_BYTES, _DIGEST_BYTES = 16, 6
_ENTRY = _ID_BYTES + _DIGEST_BYTES
MOST_REPAIRS = 400
"""More a crew does not carry at once. Common practice, no source."""


def digest_of(state: Mapping[str, Any]) -> bytes:
    """Return the short digest of a repair's state; equal states have equal digests."""
    text = json.dumps(state, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).digest()[:_DIGEST_BYTES]


def cursor_of(seen: Mapping[UUID, bytes]) -> str:
    """Return the cursor for what was told, whatever the order."""
    body = b"".join(key.bytes + seen[key] for key in sorted(seen))
    return urlsafe_b64encode(_VERSION + body).decode().rstrip("=")


def read_cursor(sent: str) -> dict[UUID, bytes] | Fault:
    """Return what a cursor says was seen; an empty one says nothing was."""
    if not sent:
        return {}
    wrong = Fault("since", shown(sent), "a cursor as it was given, or nothing to get everything")
    try:
        body = urlsafe_b64decode(sent + "=" * (-len(sent) % 4))
    except ValueError:
        return wrong
    entries, left = divmod(len(body) - 1, _ENTRY)
    if body[:1] != _VERSION or left or entries > MOST_REPAIRS:
        return wrong
    pieces = (body[1 + n * _ENTRY : 1 + (n + 1) * _ENTRY] for n in range(entries))
    return {UUID(bytes=each[:_ID_BYTES]): each[_ID_BYTES:] for each in pieces}
