"""Whether every box of an MP4, MOV or HEIC file is there to its end.

Source: ISO/IEC 14496-12, the size and type that begin each box (the layout of a box is from
memory; checked in the tests against files that FFmpeg wrote).
"""

import os
from dataclasses import dataclass
from typing import BinaryIO

MOST_BOXES = 100_000
"""A recorder that writes in fragments writes two boxes a second."""

_PLAIN = 8
_LARGE = 16
_FIRST = frozenset({b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"styp", b"pnot"})


@dataclass(frozen=True, slots=True)
class Missing:
    """A box that ends after the file does."""

    box: str
    bytes_missing: int


def is_boxed(file: BinaryIO) -> bool:
    """Whether the file begins with a box of its family."""
    file.seek(0)
    found = file.read(_PLAIN)[4:] in _FIRST
    file.seek(0)
    return found


def missing(file: BinaryIO) -> Missing | None:
    """Return the outermost box that is cut, or None when the tree is complete.

    What follows the last whole box and is no box (padding that some recorders write) is no cut.
    """
    size = file.seek(0, os.SEEK_END)
    at = 0
    for _ in range(MOST_BOXES):
        if size - at < _PLAIN:
            break
        file.seek(at)
        head = file.read(_LARGE)
        length, name = int.from_bytes(head[:4], "big"), head[4:8]
        if not name.isalnum() or not name.isascii():
            break
        least = _PLAIN
        if length == 1:
            length, least = int.from_bytes(head[8:16], "big"), _LARGE
        if length == 0:  # to the end of the file
            break
        if length < least:
            break
        if at + length > size:
            return Missing(name.decode("ascii"), at + length - size)
        at += length
    return None
