"""The texts of a BagIt 1.0 bag (RFC 8493), and file names that work on every machine.

Only texts are made here; qa.closeout.bag writes them beside the bytes they describe.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime

BAGIT_TXT = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
"""The bag declaration, byte for byte. Source: RFC 8493, section 2.1.1."""

NAME_LIMIT_BYTES = 120
"""Longest name we give a file, in UTF-8 bytes: common file systems end at 255 a name and 260 a
path. Source: common practice."""

SUFFIX_LIMIT = 12
"""A longer 'extension' is part of a sentence and not kept when a name is cut."""

_FORBIDDEN = re.compile(r'[\x00-\x1f\x7f-\x9f<>:"/\\|?*%]')
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)", re.IGNORECASE)


def encode_path(path: str) -> str:
    """Write a path as a manifest line wants it.

    Parameters
    ----------
    path
        Path inside the bag with '/' between its parts.

    Returns
    -------
    str
        The path with line feed, carriage return and per cent as %0A, %0D and %25, and only these.

    Source: RFC 8493, section 2.1.3.
    """
    return path.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def decode_path(text: str) -> str:
    """Read a path back from a manifest line.

    Parameters
    ----------
    text
        The path part of a manifest line.

    Returns
    -------
    str
        The path inside the bag.

    Source: RFC 8493, section 2.1.3.
    """
    marks = {"%0A": "\n", "%0D": "\r", "%25": "%"}
    return re.sub(r"%(?:0[AaDd]|25)", lambda found: marks[found.group().upper()], text)


def manifest_text(sha256_by_path: Mapping[str, str]) -> str:
    """List files with their hashes: a payload manifest or a tag manifest.

    Parameters
    ----------
    sha256_by_path
        Path inside the bag to its SHA-256, 64 hexadecimal digits.

    Returns
    -------
    str
        One line a file, sorted by path so that the same files give the same bytes.

    Raises
    ------
    ValueError
        If a hash is malformed, or a path is absolute or leads out of the bag.

    Source: RFC 8493, sections 2.1.3 and 2.2.1.
    """
    lines = []
    for path, digest in sorted(sha256_by_path.items()):
        if not re.fullmatch(r"[0-9a-f]{64}", digest):
            raise ValueError(f"{path}: found {digest!r}, needs 64 lower-case hexadecimal digits")
        if path.startswith(("/", "~")) or ".." in path.split("/"):
            raise ValueError(f"{path}: leads out of the bag")
        lines.append(f"{digest}  {encode_path(path)}\n")
    return "".join(lines)


def bag_info_text(
    *,
    closed_at: datetime,
    payload_sizes: Iterable[int],
    identifier: str,
    organisation: str,
    description: str,
    more: Sequence[tuple[str, str]] = (),
) -> str:
    """Write bag-info.txt.

    Parameters
    ----------
    closed_at
        When the repair was closed, aware; its UTC date is the bagging date.
    payload_sizes
        Size of each payload file, bytes.
    identifier
        The owner's name for what is packed, e.g. repair reference and attempt.
    organisation, description
        Who packed it, and what it is, one sentence.
    more
        Further labels and values, in this order.

    Returns
    -------
    str
        The labels of RFC 8493, section 2.2.2; Payload-Oxum is 'octets.files'.
    """
    sizes = list(payload_sizes)
    rows = [
        ("Source-Organization", organisation),
        ("External-Identifier", identifier),
        ("External-Description", description),
        ("Bagging-Date", closed_at.astimezone(UTC).date().isoformat()),
        ("Payload-Oxum", f"{sum(sizes)}.{len(sizes)}"),
        *more,
    ]
    # A line break inside a value would begin a new label.
    return "".join(f"{label}: {' '.join(value.split()) or '-'}\n" for label, value in rows)


def safe_name(name: str) -> str:
    """Make a file name that every common file system takes and no shell stumbles over.

    Parameters
    ----------
    name
        Whatever the file was called where it came from.

    Returns
    -------
    str
        A single path part in Unicode NFC: no separators, control characters, per cent sign or
        characters some systems forbid; no leading or trailing dot, space or hyphen; no reserved
        device name; at most NAME_LIMIT_BYTES bytes with the extension kept. 'file' if nothing
        is left.
    """
    kept = unicodedata.normalize("NFC", name.encode("utf-8", "ignore").decode())
    kept = _FORBIDDEN.sub("-", kept)
    kept = re.sub(r"\s+", "-", kept).strip("-. ~")
    kept = re.sub(r"-{2,}", "-", kept)
    if _RESERVED.match(kept):
        kept = f"file-{kept}"
    return _shortened(kept) or "file"


def numbered_names(names: Sequence[str]) -> tuple[str, ...]:
    """Give each file a safe name of its own, in order.

    Parameters
    ----------
    names
        The names as they came; two may be equal, or differ only in case.

    Returns
    -------
    tuple of str
        '01-name', '02-name', ...: distinct on every file system, sorted in the given order.
    """
    width = max(2, len(str(len(names))))
    return tuple(f"{n:0{width}d}-{safe_name(name)}" for n, name in enumerate(names, start=1))


def _shortened(name: str) -> str:
    """Cut a name to the limit in bytes without cutting a letter or its extension."""
    if len(name.encode()) <= NAME_LIMIT_BYTES:
        return name
    stem, dot, suffix = name.rpartition(".")
    if not dot or len(suffix.encode()) > SUFFIX_LIMIT:
        stem, tail = name, ""
    else:
        tail = f".{suffix}"
    room = NAME_LIMIT_BYTES - len(tail.encode())
    cut = stem.encode()[:room].decode("utf-8", "ignore").rstrip("-. ~")
    return unicodedata.normalize("NFC", cut) + tail
