"""The headers of tus 1.0, a resumable upload: read strictly, told back with what would be right."""

from base64 import b64decode
from collections.abc import Mapping
from dataclasses import dataclass

from repairs.domain.problem import Fault, shown

VERSION = "1.0.0"
EXTENSIONS = ("creation", "creation-with-upload", "expiration", "termination", "checksum")
ALGORITHMS = ("sha256", "sha1")
BYTES = "application/offset+octet-stream"
"""The media type of every piece."""
_DIGEST_BYTES: Mapping[str, int] = {"sha256": 32, "sha1": 20}
_LONGEST_METADATA = 8_000
_MOST_DIGITS = 15


@dataclass(frozen=True, slots=True)
class Checksum:
    """What a piece is said to hash to."""

    algorithm: str
    digest: bytes


def whole_number(name: str, sent: str | None) -> int | Fault:
    """Return a count of bytes, 0 or more, or what is wrong with it."""
    if sent is not None and sent.isascii() and sent.isdigit() and len(sent) <= _MOST_DIGITS:
        return int(sent)
    return Fault(name, shown(sent), "a whole number of bytes, 0 or more")


def metadata(sent: str | None) -> dict[str, str] | Fault:
    """Return the words of ``Upload-Metadata``: ``key base64, key base64``.

    Parameters
    ----------
    sent
        The header as it came; None or empty says nothing.

    Returns
    -------
    dict of str, or Fault
        A key without a value is an empty text; keys may stand once only.
    """
    name = "Upload-Metadata"
    found: dict[str, str] = {}
    if sent and len(sent) > _LONGEST_METADATA:
        return Fault(name, f"{len(sent)} characters", f"at most {_LONGEST_METADATA}")
    for pair in (sent or "").split(","):
        key, _, value = pair.strip().partition(" ")
        if not key:
            continue
        if key in found:
            return Fault(name, f"{key} twice", "each key once")
        try:
            found[key] = b64decode(value.strip(), validate=True).decode()
        except ValueError:
            return Fault(name, f"{key} {shown(value)}", "key and base64 of UTF-8 text")
    return found


def checksum(sent: str | None) -> Checksum | Fault | None:
    """Return what ``Upload-Checksum`` says: an algorithm and a base64 digest; None without one."""
    if sent is None:
        return None
    algorithm, _, value = sent.strip().partition(" ")
    if algorithm not in ALGORITHMS:
        return Fault("Upload-Checksum", shown(algorithm), f"one of {', '.join(ALGORITHMS)}")
    try:
        digest = b64decode(value.strip(), validate=True)
    except ValueError:
        digest = b""
    if len(digest) != _DIGEST_BYTES[algorithm]:
        return Fault("Upload-Checksum", shown(value), f"the base64 of a {algorithm} digest")
    return Checksum(algorithm, digest)
